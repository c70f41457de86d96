// Keeps the queue's rows up to date in place. While the list is in use (pointer over it, or focus in
// it) nothing moves: changes are counted and wait for a press, or for the list to be left alone.
const QUIET_MS = 4000;
const list = document.getElementById("list");
const button = document.getElementById("show-changes");
const news = document.getElementById("news");
const pause = document.getElementById("pause");
const root = document.querySelector("[data-changes]");
const waiting = new Map(); // ticket: its new row, or null when it is gone
let head = null; // alerts and counts that wait as well
let paused = false;
let missed = null; // what was changed while paused: a set of tickets, or "everything"
let leftAt = 0;

const body = () => document.getElementById("rows");
const row = (ticket) => document.getElementById(ticket);

function inUse() {
  if (list.contains(document.activeElement)) return true;
  const over = list.matches(":hover") || document.getElementById("alerts").matches(":hover");
  if (over) leftAt = performance.now();
  return over || performance.now() - leftAt < QUIET_MS;
}

function words(element) {
  return element.textContent.replace(/\d+ \w+ ago|just now/g, "").replace(/\s+/g, " ").trim();
}

function isSame(old, fresh) {
  return Boolean(old) === Boolean(fresh) && (!old || (words(old) === words(fresh)
    && old.dataset.place === fresh.dataset.place));
}

// The same place and the same height: nothing under the pointer moves.
function replaceInPlace(old, fresh) {
  if (old.dataset.place !== fresh.dataset.place || old.contains(document.activeElement)) return false;
  for (const one of [old, fresh]) one.classList.add("measured"); // else out of sight it is a guess
  const height = old.offsetHeight;
  old.replaceWith(fresh);
  if (fresh.offsetHeight === height) return true;
  fresh.replaceWith(old);
  return false;
}

async function fetchRows(tickets) {
  const address = new URL("/desk/rows", location.href);
  address.search = location.search;
  if (tickets) address.searchParams.set("only", [...tickets].join(" "));
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (answer.status === 401) {
    news.textContent = "You are signed out. Load the page again.";
    return null;
  }
  if (!answer.ok) return null;
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

async function take(tickets) {
  let fresh;
  try {
    fresh = await fetchRows(tickets);
  } catch {
    return; // the stale line says so when it lasts
  }
  if (!fresh) return;
  document.getElementById("as-of").textContent = fresh.getElementById("as-of").textContent;
  const rows = new Map([...fresh.querySelectorAll("#rows > tr")].map((r) => [r.dataset.ticket, r]));
  const asked = tickets || new Set([...rows.keys(), ...shownTickets()]);
  head = fresh;
  for (const symbol of fresh.querySelectorAll("#outlines symbol")) {
    if (!document.getElementById(symbol.id)) {
      document.getElementById("outlines").append(document.importNode(symbol, true));
    }
  }
  for (const ticket of asked) {
    const made = rows.get(ticket) || null;
    const old = row(ticket);
    if (isSame(old, made)) waiting.delete(ticket);
    else if (old && made && inUse() && replaceInPlace(old, made)) waiting.delete(ticket);
    else waiting.set(ticket, made);
  }
  settle();
}

function shownTickets() {
  return [...document.querySelectorAll("#rows > tr")].map((r) => r.dataset.ticket);
}

function alertsDiffer() {
  return head && words(head.getElementById("alerts")) !== words(document.getElementById("alerts"));
}

function settle() {
  const count = waiting.size + (alertsDiffer() ? 1 : 0);
  if (count && inUse()) {
    const danger = head && head.querySelector("#alerts .danger, #rows .danger") && alertsDiffer();
    const said = `${count} ${count === 1 ? "change" : "changes"}, show ${count === 1 ? "it" : "them"}`;
    if (button.firstChild.textContent !== said) button.firstChild.textContent = said;
    if (button.hidden) {
      button.hidden = false;
      document.dispatchEvent(new Event("desk:shown"));
      news.textContent = danger ? "Danger reported." : "Queue changed.";
    }
  } else if (head) {
    apply();
  }
}

function apply() {
  const focused = document.activeElement?.closest?.("#rows > tr")?.dataset.ticket;
  const came = [...waiting].filter(([ticket, made]) => made && !row(ticket)).length;
  const count = waiting.size;
  if (!body() && came) {
    location.reload();
    return;
  }
  for (const [ticket, made] of waiting) {
    const old = row(ticket);
    if (old) old.remove();
    if (!made) continue;
    made.classList.add("fresh");
    const after = [...body().children].find((r) => r.dataset.place > made.dataset.place);
    body().insertBefore(made, after || null);
  }
  waiting.clear();
  if (head) {
    document.getElementById("unread").textContent = head.getElementById("unread").textContent;
    if (alertsDiffer()) document.getElementById("alerts").replaceWith(head.getElementById("alerts"));
    head = null;
  }
  recount();
  button.hidden = true;
  if (focused) row(focused)?.querySelector("a").focus({ preventScroll: true });
  if (count) news.textContent = came ? `${came} new, ${count - came} changed.` : `${count} changed.`;
}

function recount() {
  const rows = [...document.querySelectorAll("#rows > tr")];
  const now = Date.parse(root.dataset.now);
  const late = rows.filter((r) => Date.parse(r.dataset.due) < now).length;
  const held = rows.filter((r) => r.dataset.held).length;
  const unread = document.getElementById("unread").textContent;
  document.getElementById("counts").firstChild.textContent = `${rows.length} open`
    + (late ? `, ${late} past the time` : "") + (held ? `, ${held} held` : "") + (unread ? "; " : "");
}

document.addEventListener("desk:change", (event) => {
  const { everything, changed } = event.detail;
  if (!paused) {
    take(everything ? null : new Set(changed));
  } else if (everything || missed === "everything") {
    missed = "everything";
  } else {
    missed = new Set([...(missed || []), ...changed]);
  }
});

// A time that passes turns "by" into "was due by" without anything having changed.
let dueSeen = Date.parse(root.dataset.now);
setInterval(() => {
  const now = Date.parse(root.dataset.now);
  const passed = [...document.querySelectorAll("#rows > tr")].filter((r) => {
    const due = Date.parse(r.dataset.due);
    return [-5, 0, 5].some((m) => due + m * 60_000 > dueSeen && due + m * 60_000 <= now);
  });
  dueSeen = now;
  if (passed.length && !paused) take(new Set(passed.map((r) => r.dataset.ticket)));
}, 10_000);

setInterval(() => {
  if (!paused && (waiting.size || head) && !inUse()) settle();
}, 500);

button.addEventListener("click", () => {
  apply();
  if (document.activeElement === document.body) (document.querySelector("#rows a") || pause).focus();
});

pause.hidden = false;
pause.addEventListener("click", () => {
  paused = !paused;
  pause.setAttribute("aria-pressed", String(paused));
  news.textContent = paused ? "Paused: nothing on this page changes by itself." : "";
  if (!paused && missed) take(missed === "everything" ? null : missed);
  if (!paused) missed = null;
});

// n and b go from row to row, o opens.
document.addEventListener("desk:key", (event) => {
  const step = { n: 1, b: -1 }[event.detail];
  const links = [...document.querySelectorAll("#rows .where a")];
  const at = links.indexOf(document.activeElement);
  if (step && links.length) {
    event.preventDefault();
    const next = at < 0 ? 0 : Math.min(Math.max(at + step, 0), links.length - 1);
    links[next].focus();
  } else if (event.detail === "o" && at >= 0) {
    event.preventDefault();
    links[at].click();
  }
});

// Back from a ticket: to the row it was opened from, once the browser has done its own scrolling.
window.addEventListener("load", () => {
  if (!location.hash.startsWith("#t_")) return;
  setTimeout(() => row(location.hash.slice(1))?.querySelector("a").focus());
});
