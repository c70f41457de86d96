// The tickets this phone carries: pages without names, and worksheets; those of the day, and what was
// opened on it beside them, such as a colleague's. Kept for 72 hours at most.

import { KEEP_MS } from "./store.js";

export const CARRIED = "endswitch-carried";
export const STYLES = "endswitch-styles";
const KEEPER = "/truck/keeper";
const OPENED = "opened";

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

// What has a version of its ticket says so: a page and a worksheet need not be equally old.
export async function keep(address, answer, version = "") {
  const headers = new Headers(answer.headers);
  headers.set("x-kept-at", String(Date.now()));
  headers.set("x-version", String(version));
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

// A worksheet for the page that is open, kept at once: the worker then need not ask for it again.
export async function worksheet(ticket) {
  const address = sheetOf(ticket);
  const answer = await fetch(address);
  if (!answer.ok) return null;
  const carried = await answer.clone().json();
  if (!answer.headers.has("x-kept-at")) await keep(address, answer, carried.version);
  return carried;
}

// The style that came inside a page, under the addresses of its files: the worker need not fetch those.
export async function keepStyles() {
  const { styles } = document.querySelector("script[data-then]").dataset;
  if (!styles || navigator.serviceWorker.controller) return;
  const cache = await caches.open(STYLES);
  const came = document.querySelectorAll("head style");
  for (const [n, address] of styles.trim().split(" ").entries()) {
    await cache.put(address, new Response(came[n].textContent, { headers: { "content-type": "text/css" } }));
  }
}

const sheetOf = (ticket) => `/truck/worksheets/${ticket}`;

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

// Fetch the tickets of the day, and the one that is open; whoever else signs in on this phone starts
// with nothing.
export async function carry(open = null) {
  if (leaving) return;
  const answer = await fetch("/truck/carried");
  if (!answer.ok) return;
  const { keeper, tickets } = await answer.json();
  const before = await kept(KEEPER);
  if (before && (await before.text()) !== keeper) await caches.delete(CARRIED);
  await keep(KEEPER, new Response(keeper));
  await take("/truck");
  const wanted = ["/truck", KEEPER];
  if (open && !tickets.some(({ ticket }) => ticket === open)) tickets.push({ ticket: open, version: OPENED });
  for (const { ticket, version } of tickets) {
    if (leaving) return;
    for (const address of [`/truck/carried/${ticket}`, sheetOf(ticket)]) {
      wanted.push(address);
      const have = await kept(address);
      const same = have?.headers.get("x-version") === String(version) && version !== OPENED;
      if (!same) await take(address, version);
    }
  }
  if (leaving) return;
  const cache = await caches.open(CARRIED);
  for (const request of await cache.keys()) {
    const address = new URL(request.url).pathname;
    if (wanted.includes(address)) continue;
    if ((await kept(address))?.headers.get("x-version") !== OPENED) await cache.delete(request);
  }
}

async function take(address, version) {
  const answer = await fetch(address);
  if (answer.ok && !answer.redirected) await keep(address, answer, version);
}
