// Signing out on a phone: what was not sent is sent first, else it stays for whoever entered it. All
// else that the phone has kept goes; where nothing stays, the office has the browser wipe everything.

import { leave } from "./carry.js";
import { sendWaiting } from "./send.js";
import { anythingWaits, drop, forgetSent, waiting } from "./store.js";

const form = document.querySelector("form[data-leaving]");
const note = form.querySelector("[role=status]");
const dropping = form.querySelector("button[type=button]");

async function tell() {
  const left = (await waiting()).length;
  note.textContent = left === 1
    ? "1 entry is not sent yet. It stays on this phone and goes out when you sign in here again."
    : `${left} entries are not sent yet. They stay on this phone and go out when you sign in here again.`;
  note.hidden = dropping.hidden = !left;
}

async function forget() {
  const registered = await navigator.serviceWorker?.getRegistration("/truck");
  registered?.active?.postMessage("leave");
  await leave();
  await forgetSent();
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await forget();
    form.elements.kept.value = (await anythingWaits()) ? "some" : "none";
  } finally {
    form.submit();
  }
});

dropping.addEventListener("click", async () => {
  await drop(await waiting());
  form.requestSubmit();
});

await tell();
if ((await waiting()).length) {
  await sendWaiting();
  await tell();
}
