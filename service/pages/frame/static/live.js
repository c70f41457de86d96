// Listens to the desk's live line and says what it hears to the rest of the page, as an event on the
// document: {everything, changed: [tickets]}. When nothing is heard for 30 s it says so, with the age.
const root = document.querySelector("[data-changes]");
const stale = document.getElementById("stale");
const QUIET_MS = 30_000;
let seen = root.dataset.seen;
let line = null;
let heardAt = performance.now();
let serverNow = Date.parse(root.dataset.now);

function heard(event) {
  heardAt = performance.now();
  seen = event.lastEventId || seen;
  const news = JSON.parse(event.data);
  serverNow = Date.parse(news.now);
  root.dataset.now = news.now;
  stale.hidden = true;
  return news;
}

function open() {
  line = new EventSource(`${root.dataset.changes}?seen=${encodeURIComponent(seen)}`);
  line.addEventListener("beat", heard);
  line.addEventListener("change", (event) => {
    document.dispatchEvent(new CustomEvent("desk:change", { detail: heard(event) }));
  });
  // A refused line (signed out) is not tried again by the browser; a lost one is.
  line.addEventListener("error", () => {
    if (line.readyState === EventSource.CLOSED && !document.hidden) setTimeout(again, 5000);
  });
}

function again() {
  if (line) line.close();
  line = null;
  if (!document.hidden) open();
}

function tick() {
  const quiet = performance.now() - heardAt;
  if (quiet >= QUIET_MS && !document.hidden) {
    const seconds = Math.round(quiet / 5000) * 5;
    const age = seconds < 120 ? `${seconds} s` : `${Math.floor(seconds / 60)} min`;
    stale.textContent = `No word from the server for ${age}. What you see may be out of date.`;
    stale.hidden = false;
  }
}

// "40 min ago" grows old by itself.
function age() {
  const now = serverNow + (performance.now() - heardAt);
  for (const element of document.querySelectorAll("time.since")) {
    const minutes = Math.max(0, Math.floor((now - Date.parse(element.dateTime)) / 60_000));
    const hours = Math.round(minutes / 60);
    const words = minutes < 2 ? "just now" : minutes < 90 ? `${minutes} min ago`
      : hours < 48 ? `${hours} h ago` : `${Math.round(hours / 24)} days ago`;
    if (element.textContent !== words) element.textContent = words;
  }
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    if (line) line.close();
    line = null;
  } else if (!line) {
    heardAt = performance.now();
    open();
  }
});
window.addEventListener("pagehide", () => line && line.close());
setInterval(tick, 5000);
setInterval(age, 30_000);
open();
