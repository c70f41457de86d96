// Brings what waits to the office, one entry after the other. An entry that got no answer is sent
// again later; its id is the phone's, so the office takes it once.

import { answered, waiting } from "./store.js";

const PATIENCE_MS = 30_000;

// Resolves to what stopped it: "done", "no signal", "sign in".
export async function sendWaiting() {
  if (!navigator.locks) return deliver();
  return navigator.locks.request("endswitch-truck-sending", deliver);
}

async function deliver() {
  for (const entry of await waiting()) {
    const outcome = await send(entry);
    if (outcome) return outcome;
  }
  return "done";
}

async function send(entry) {
  const { id, ticket, kind, keeper, entered_at: enteredAt, picture } = entry;
  const body = picture ? { picture: await base64(picture) } : entry.body;
  let answer;
  try {
    answer = await fetch("/truck/arrivals", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ id, ticket, kind, keeper, entered_at: enteredAt, body }),
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
  } catch {
    return "no signal";
  }
  if (answer.status === 409) return null; // somebody else's: it waits until they sign in here
  if (answer.status === 401 || answer.status === 403) return "sign in";
  if (answer.ok) {
    await answered(entry, await answer.json());
    return null;
  }
  if (answer.status === 422 || answer.status === 413) {
    await answered(entry, { state: "aside", says: "The office could not read it. Enter it again.", ticket });
    return null;
  }
  return "no signal";
}

async function base64(blob) {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) {
    text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  }
  return btoa(text);
}
