// Keeps the queue fresh: every 20 s it asks for the page again and swaps the list in. It never
// moves focus and never moves rows under a pointer: then it only says that there is news.
const EVERY_MS = 20_000;
const live = document.getElementById("queue");
const pause = document.getElementById("pause");
const news = document.getElementById("news");
const age = document.getElementById("age");
let madeAt = performance.now();
let paused = false;
let waiting = null;

function ageWords() {
  const seconds = Math.round((performance.now() - madeAt) / 1000);
  const old = seconds < 60 ? `${seconds} s` : `${Math.floor(seconds / 60)} min`;
  return `, ${old} ago${paused ? ", paused" : ""}`;
}

function inUse() {
  return live.contains(document.activeElement) || live.matches(":hover");
}

function show(fresh) {
  live.replaceChildren(...fresh.querySelector("#queue").childNodes);
  waiting = null;
  news.textContent = "The queue has changed and is shown as it is now.";
}

function take(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html");
  const queue = fresh.querySelector("#queue");
  if (!queue) {
    news.textContent = "You are signed out. Load the page again.";
    return;
  }
  madeAt = performance.now();
  document.querySelector(".aged time").textContent = fresh.querySelector(".aged time").textContent;
  if (words(queue) === words(live)) {
    waiting = null;
    news.textContent = "";
  } else if (inUse()) {
    waiting = fresh;
    news.textContent = "The queue has changed. It is updated when you leave the list.";
  } else {
    show(fresh);
  }
}

// "40 min ago" alone is no news.
function words(element) {
  return element.textContent.replace(/\S+ \S+ ago|just now/g, "").replace(/\s+/g, " ");
}

async function refresh() {
  if (paused || document.hidden) return;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (answer.ok || answer.status === 401) take(await answer.text());
  } catch {
    news.textContent = "No connection: this page may be out of date.";
  }
}

pause.hidden = false;
pause.addEventListener("click", () => {
  paused = !paused;
  pause.setAttribute("aria-pressed", String(paused));
  age.textContent = ageWords();
  refresh();
});
function leave() {
  if (waiting && !paused) requestAnimationFrame(() => waiting && !inUse() && show(waiting));
}
live.addEventListener("pointerleave", leave);
live.addEventListener("focusout", leave);
setInterval(() => { age.textContent = ageWords(); }, 1000);
setInterval(refresh, EVERY_MS);
document.addEventListener("visibilitychange", refresh);
