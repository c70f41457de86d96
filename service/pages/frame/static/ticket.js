// Keeps an open ticket up to date. Conversations grow in place; everything else waits for a press, so
// that nobody acts on a ticket they have not seen: the forms keep the version that is on the screen.
const root = document.querySelector("[data-changes]");
const button = document.getElementById("show-changes");
const news = document.getElementById("news");
const mine = root.dataset.ticket;
const address = `/desk/tickets/${mine}`;
let fresh = null;

async function look() {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  if (answer.status === 401) {
    news.textContent = "You are signed out. Load the page again.";
    return;
  }
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of page.querySelectorAll("[data-part]")) {
    const shown = document.getElementById(part.id);
    if (!shown || words(shown) === words(part)) continue;
    shown.replaceChildren(...document.importNode(part, true).childNodes);
    news.textContent = "Something new was said.";
  }
  const version = page.querySelector("[data-changes]").dataset.version;
  if (version === root.dataset.version && words(essence(page)) === words(essence(document))) return;
  fresh = page;
  if (button.hidden) {
    button.hidden = false;
    document.dispatchEvent(new Event("desk:shown"));
    news.textContent = "This ticket has changed.";
  }
}

const essence = (page) => page.querySelector(".brief");
const words = (element) => element.textContent.replace(/\s+/g, " ").replace(/\d+ \w+ ago|just now/g, "");

function isTyped() {
  return [...document.querySelectorAll("#ticket textarea, #ticket input:not([type=hidden], #goes-on)")]
    .some((field) => field.value !== field.defaultValue || field.checked !== field.defaultChecked);
}

// What was typed stays; the forms then speak about the ticket as it is shown from now on.
function show() {
  const version = fresh.querySelector("[data-changes]").dataset.version;
  const article = fresh.getElementById("ticket");
  for (const heading of document.querySelectorAll(".fold[open] > summary h2")) {
    article.querySelector(`#${heading.id}`)?.closest("details").setAttribute("open", "");
  }
  if (!isTyped()) {
    document.getElementById("ticket").replaceWith(document.importNode(article, true));
  } else {
    for (const part of [".brief", ".part-suspects", ".part-drawing", ".part-weighed"]) {
      const made = article.querySelector(part);
      const old = document.querySelector(part);
      if (made && old) old.replaceWith(document.importNode(made, true));
    }
    for (const field of document.querySelectorAll("#ticket input[name=version]")) field.value = version;
  }
  root.dataset.version = version;
  fresh = null;
  button.hidden = true;
  news.textContent = "Shown as it is now.";
  document.dispatchEvent(new Event("desk:shown"));
}

document.addEventListener("desk:change", (event) => {
  const { everything, changed } = event.detail;
  if (everything || changed.includes(mine)) look();
});
button.addEventListener("click", () => {
  show();
  document.querySelector("#main").focus();
});
document.getElementById("problem")?.focus();

// A form that is opened closes the others (older browsers do not know the name of details).
document.addEventListener("toggle", (event) => {
  if (!event.target.matches?.("details.act") || !event.target.open) return;
  for (const other of document.querySelectorAll("details.act[open]")) {
    if (other !== event.target) other.open = false;
  }
}, true);

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const form = event.target.closest?.("details.act[open]");
  if (!form) return;
  form.open = false;
  form.querySelector("summary").focus();
});

// A press on a home in the drawing opens what was said there.
function openTarget() {
  const target = location.hash.startsWith("#c_") && document.getElementById(location.hash.slice(1));
  const talk = target && target.closest("details");
  if (!talk) return;
  talk.open = true;
  talk.querySelector("summary").focus();
  talk.scrollIntoView({ block: "start" });
}
window.addEventListener("hashchange", openTarget);
window.addEventListener("load", () => setTimeout(openTarget));

// After an act the next ticket that nobody has, unless that is switched off on this device. The page may
// be exchanged at any time, so the box is looked up anew.
const STAY = "endswitch-stay";
let stays = false;
try { stays = localStorage.getItem(STAY) === "1"; } catch { /* this visit only */ }

function showGoesOn() {
  const box = document.getElementById("goes-on");
  if (!box) return;
  box.checked = !stays;
  box.closest(".goes-on").hidden = false;
}
document.addEventListener("change", (event) => {
  if (event.target.id !== "goes-on") return;
  stays = !event.target.checked;
  try { localStorage.setItem(STAY, stays ? "1" : "0"); } catch { /* this visit only */ }
});
document.addEventListener("formdata", (event) => {
  if (event.target.matches("[data-goes-on]") && !stays) event.formData.set("then", "next");
});
document.addEventListener("desk:shown", showGoesOn);
showGoesOn();
