// The truck's service worker: pages from the network while there is signal, else from this phone.

import { STYLES, carry, forgetOld, keep, kept, leave, stay } from "./carry.js";
import { sendWaiting } from "./send.js";

const PATIENCE_MS = 3000;
const SHELLS = "endswitch-shell-";

export function work(version, shell) {
  const name = SHELLS + version;
  self.addEventListener("install", (event) => {
    event.waitUntil(fill(name, shell).then(() => self.skipWaiting()));
  });
  self.addEventListener("activate", (event) => {
    event.waitUntil(Promise.all([self.clients.claim(), forgetOld()]));
  });
  self.addEventListener("message", (event) => {
    if (event.data === "leave") event.waitUntil(leave());
    if (event.data === "carry") stay();
    if (event.data === "carry" || event.data === "carry again") {
      const open = ticketOf(event.source?.url);
      event.waitUntil(forgetOld().then(() => carry(open)).then(() => dropShells(name)).catch(() => {}));
    }
  });
  self.addEventListener("sync", (event) => {
    if (event.tag === "send") event.waitUntil(sendAll());
  });
  self.addEventListener("fetch", (event) => {
    const answer = answerFor(event.request);
    if (answer) event.respondWith(answer);
  });
}

// All files of this version; those that the page has brought along are not fetched.
async function fill(name, shell) {
  const cache = await caches.open(name);
  const wanted = [];
  for (const address of shell) {
    const came = await caches.match(address, { cacheName: STYLES });
    if (came) await cache.put(address, came);
    else wanted.push(address);
  }
  await cache.addAll(wanted);
  await caches.delete(STYLES);
}

// The ticket that an address shows, if it shows one.
function ticketOf(url) {
  return url ? /^\/truck\/tickets\/(t_[^/]+)$/.exec(new URL(url).pathname)?.[1] ?? null : null;
}

async function sendAll() {
  if ((await sendWaiting()) !== "done") throw new Error("still waiting");
  for (const page of await self.clients.matchAll()) page.postMessage("sent");
}

// Pages kept by an older version need its files until they have been fetched anew.
async function dropShells(name) {
  for (const other of await caches.keys()) {
    if (other.startsWith(SHELLS) && other !== name) await caches.delete(other);
  }
}

function answerFor(request) {
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return null;
  const path = address.pathname;
  if (path.startsWith("/truck/static/") || path.startsWith("/static/")) return fromShell(request);
  if (path === "/truck") return networkFirst(request, "/truck", keep);
  const ticket = ticketOf(request.url);
  if (ticket) return networkFirst(request, `/truck/carried/${ticket}`);
  if (path.startsWith("/truck/worksheets/")) return networkFirst(request, path);
  return null;
}

async function fromShell(request) {
  return (await caches.match(request)) ?? fetch(request);
}

async function networkFirst(request, address, store = null) {
  const fetched = fetch(request).then(async (answer) => {
    if (store && answer.ok && !answer.redirected) await store(address, answer);
    return answer;
  });
  const late = new Promise((resolve) => { setTimeout(resolve, PATIENCE_MS, null); });
  const first = await Promise.race([fetched.catch(() => null), late]);
  if (first && first.status < 500) return first;
  const mine = await kept(address);
  if (mine) {
    fetched.catch(() => {});
    return mine;
  }
  try {
    return await fetched;
  } catch {
    return request.mode === "navigate" ? caches.match("/truck/without-signal") : Response.error();
  }
}
