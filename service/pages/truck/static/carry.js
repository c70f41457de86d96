// The tickets this phone carries: pages without names, and worksheets. Kept for 72 hours at most.

import { KEEP_MS } from "./store.js";

export const CARRIED = "endswitch-carried";
const KEEPER = "/truck/keeper";

let leaving = false;

// Somebody signs out: what is still on its way is not kept any more.
export async function leave() {
  leaving = true;
  await caches.delete(CARRIED);
}

// A page was opened by somebody who is signed in.
export function stay() {
  leaving = false;
}

export async function keep(address, answer) {
  const headers = new Headers(answer.headers);
  headers.set("x-kept-at", String(Date.now()));
  headers.delete("content-encoding");
  const copy = new Response(await answer.clone().arrayBuffer(), { status: 200, headers });
  if (leaving) return;
  await (await caches.open(CARRIED)).put(address, copy);
}

export async function kept(address) {
  const found = await caches.match(address, { cacheName: CARRIED });
  if (!found || isFresh(found)) return found ?? null;
  await (await caches.open(CARRIED)).delete(address);
  return null;
}

export function isFresh(answer) {
  return Date.now() - Number(answer.headers.get("x-kept-at")) < KEEP_MS;
}

export async function forgetOld() {
  if (!(await caches.has(CARRIED))) return;
  const cache = await caches.open(CARRIED);
  for (const request of await cache.keys()) {
    if (!isFresh(await cache.match(request))) await cache.delete(request);
  }
}

// Fetch the tickets of the day; whoever else signs in on this phone starts with nothing.
export async function carry() {
  if (leaving) return;
  const answer = await fetch("/truck/carried");
  if (!answer.ok) return;
  const { keeper, tickets } = await answer.json();
  const before = await kept(KEEPER);
  if (before && (await before.text()) !== keeper) await caches.delete(CARRIED);
  await keep(KEEPER, new Response(keeper));
  await take("/truck");
  const wanted = ["/truck", KEEPER];
  for (const { ticket, version } of tickets) {
    if (leaving) return;
    const page = `/truck/carried/${ticket}`;
    const sheet = `/truck/worksheets/${ticket}`;
    wanted.push(page, sheet);
    const have = await kept(sheet);
    const same = have && (await kept(page)) && (await have.json()).version === version;
    if (!same) {
      await take(page);
      await take(sheet);
    }
  }
  if (leaving) return;
  const cache = await caches.open(CARRIED);
  for (const request of await cache.keys()) {
    if (!wanted.includes(new URL(request.url).pathname)) await cache.delete(request);
  }
}

async function take(address) {
  const answer = await fetch(address);
  if (answer.ok && !answer.redirected) await keep(address, answer);
}
