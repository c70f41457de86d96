// Every page of the truck: keeps it usable without signal, and says in words what waits here.

import { keepStyles } from "./carry.js";
import { all, forgetOld, waiting } from "./store.js";
import { sendWaiting } from "./send.js";

const EVERY_MS = 30_000;
const status = document.getElementById("kept");
const listeners = [];

export function onSent(listener) {
  listeners.push(listener);
}

// As all times are written here: 7:05 pm.
export function clock(ms) {
  const at = new Date(ms);
  const minutes = String(at.getMinutes()).padStart(2, "0");
  return `${at.getHours() % 12 || 12}:${minutes} ${at.getHours() < 12 ? "am" : "pm"}`;
}

export async function tell(stopped) {
  const entries = await all();
  const left = entries.filter((e) => e.state === "waiting").length;
  const sent = entries.filter((e) => e.state !== "waiting").map((e) => e.at);
  const words = [];
  if (left) words.push(`Saved here, ${left} waiting.`);
  if (left && stopped === "sign in") words.push("Sign in to send.");
  if (left && stopped === "no signal") words.push("Sent when there is signal.");
  if (!left && sent.length) words.push(`Sent ${clock(Math.max(...sent))}.`);
  status.hidden = !words.length;
  if (status.textContent !== words.join(" ")) status.textContent = words.join(" ");
}

// What is on the truck already is ticked off for the day, on this phone alone.
const LOADED = "endswitch-loaded";

function rememberLoaded(list) {
  const { day } = list.dataset;
  let kept = null;
  try { kept = JSON.parse(localStorage.getItem(LOADED)); } catch { /* this visit only */ }
  const loaded = new Set(kept?.day === day ? kept.loaded : []);
  const keep = () => {
    try { localStorage.setItem(LOADED, JSON.stringify({ day, loaded: [...loaded] })); } catch { /* so be it */ }
  };
  // On a slow line somebody ticks before this runs: that counts.
  for (const box of list.querySelectorAll("input")) {
    if (box.checked) loaded.add(box.value);
    box.checked = loaded.has(box.value);
  }
  keep();
  list.addEventListener("change", ({ target }) => {
    loaded[target.checked ? "add" : "delete"](target.value);
    keep();
  });
}

let running = null;

export function send() {
  running ??= deliver().finally(() => { running = null; });
  return running;
}

async function deliver() {
  const before = (await waiting()).length;
  if (!before) {
    await tell("done");
    return;
  }
  await tell("");
  const stopped = await sendWaiting();
  await tell(stopped);
  if ((await waiting()).length < before) {
    for (const listener of listeners) await listener();
    navigator.serviceWorker?.controller?.postMessage("carry again");
  }
  if (stopped === "no signal") askForSync();
}

// The service worker has sent what waited.
async function sentElsewhere() {
  await tell("done");
  for (const listener of listeners) await listener();
}

// Where the browser can, it sends even when this page is closed.
async function askForSync() {
  try {
    const worker = await navigator.serviceWorker.ready;
    await worker.sync?.register("send");
  } catch {
    // It is sent the next time that a page is open.
  }
}

async function guardSignOut() {
  if ((await waiting()).length) await send();
  const still = (await waiting()).length;
  if (!still) {
    location.href = "/sign-out";
    return;
  }
  status.hidden = false;
  status.textContent = `${still} not sent yet, kept on this phone until you sign in here again. `;
  const anyway = document.createElement("a");
  anyway.href = "/sign-out";
  anyway.textContent = "Sign out all the same";
  status.append(anyway);
  anyway.focus();
}

// Listens at once, before anything that has to be waited for. The day is carried along only after
// what the open page needs first.
export async function start(needed = null) {
  const list = document.querySelector("[data-day]");
  if (list) rememberLoaded(list);
  if (!("indexedDB" in window)) return;
  for (const link of document.querySelectorAll('a[href="/sign-out"]')) {
    link.addEventListener("click", (event) => { event.preventDefault(); guardSignOut(); });
  }
  window.addEventListener("online", send);
  window.addEventListener("focus", send);
  document.addEventListener("visibilitychange", () => document.hidden || send());
  setInterval(send, EVERY_MS);
  try {
    await forgetOld();
  } catch {
    status.hidden = false;
    status.textContent = "This browser keeps nothing. Readings need signal here.";
    return;
  }
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.addEventListener("message", sentElsewhere);
    await keepStyles().catch(() => {});
    navigator.serviceWorker
      // What it imports bears its hash in its address: it is taken from what the page has loaded.
      .register("/truck/worker.js", { scope: "/truck", type: "module", updateViaCache: "all" })
      .then(() => navigator.serviceWorker.ready)
      .then(async (worker) => { await needed; return worker; })
      .then((worker) => worker.active.postMessage("carry"))
      .catch(() => {});
  }
  await send();
}

if (!document.querySelector("[data-ticket]")) start();
