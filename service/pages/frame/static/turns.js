// Follows the turns of a thermostat that were asked for: every 4 s it asks how they stand, and it counts
// down the time a healthy valve takes. Only words change; nothing moves and focus stays where it is.
// The page around it may be exchanged at any time, so what is shown is looked up anew.
const EVERY_MS = 4_000;
let now = Date.parse(document.querySelector("[data-turns]").dataset.now);
let madeAt = performance.now();

const at = (name, complaint) => document.querySelector(`[data-${name}="${complaint}"]`);

function say(home) {
  const box = at("complaint", home.complaint);
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
  at("left", home.complaint).dataset.ends = home.over ? "" : (home.stroke_ends_at ?? "");
  const open = at("while", home.complaint);
  if (open && !open.contains(document.activeElement)) open.hidden = home.over;
}

function count() {
  const present = now + performance.now() - madeAt;
  for (const left of document.querySelectorAll("[data-left]")) {
    const seconds = Math.ceil((Date.parse(left.dataset.ends) - present) / 1000);
    left.hidden = Number.isNaN(seconds);
    left.textContent = seconds > 0
      ? `${seconds} s left for a healthy valve`
      : "The time is up: a healthy valve has moved";
  }
}

async function look() {
  const part = document.querySelector("[data-turns]");
  if (document.hidden || !part?.querySelector("[data-while]")) return;
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

setInterval(look, EVERY_MS);
setInterval(count, 1000);
document.addEventListener("visibilitychange", look);
count();
