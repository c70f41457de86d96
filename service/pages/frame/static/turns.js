// Follows the turns of a thermostat that were asked for: every 4 s it asks how they stand, and it counts
// down the time a healthy valve takes. Only words change; nothing moves and focus stays where it is.
const EVERY_MS = 4_000;
const part = document.querySelector("[data-turns]");
const lefts = new Map(
  [...part.querySelectorAll("[data-left]")].map((left) => [left.dataset.left, left]),
);
let now = Date.parse(part.dataset.now);
let madeAt = performance.now();

function say(home) {
  const box = part.querySelector(`[data-complaint="${home.complaint}"]`);
  if (!box) return;
  const lines = [...box.querySelectorAll("p:not(.why)")];
  if (lines.map((line) => line.textContent).join("\n") !== home.says.join("\n")) {
    lines.forEach((line) => line.remove());
    home.says.forEach((words) => {
      const line = document.createElement("p");
      line.textContent = words;
      box.append(line);
    });
  }
  lefts.get(home.complaint).dataset.ends = home.over ? "" : (home.stroke_ends_at ?? "");
  const open = part.querySelector(`[data-while="${home.complaint}"]`);
  if (open && !open.contains(document.activeElement)) open.hidden = home.over;
}

function count() {
  const at = now + performance.now() - madeAt;
  for (const left of lefts.values()) {
    const seconds = Math.ceil((Date.parse(left.dataset.ends) - at) / 1000);
    left.hidden = Number.isNaN(seconds);
    left.textContent = seconds > 0
      ? `${seconds} s left for a healthy valve`
      : "The time is up: a healthy valve has moved";
  }
}

async function look() {
  if (document.hidden) return;
  try {
    const answer = await fetch(part.dataset.turns, { headers: { Accept: "application/json" } });
    if (!answer.ok) return;
    const found = await answer.json();
    now = Date.parse(found.now);
    madeAt = performance.now();
    found.homes.forEach(say);
    count();
  } catch {
    // No signal: the last words stay, and the next look may succeed.
  }
}

if (part.querySelector("[data-while]")) {
  setInterval(look, EVERY_MS);
  setInterval(count, 1000);
  document.addEventListener("visibilitychange", look);
}
count();
