// Single letters press what is on the page: the element that names the letter in data-key. They work
// only while no field has the focus, can be switched off on this device, and "k" shows them.
const OFF = "endswitch-keys-off";
const panel = document.getElementById("keys");
const opener = document.getElementById("keys-open");
const toggle = document.getElementById("keys-on");
const stored = {
  get off() { try { return localStorage.getItem(OFF) === "1"; } catch { return false; } },
  set off(off) { try { localStorage.setItem(OFF, off ? "1" : "0"); } catch { /* this visit only */ } },
};
let on = !stored.off;

function isTyping(element) {
  return element.isContentEditable
    || element.matches("textarea, select, input:not([type=checkbox], [type=radio], [type=button])");
}

function show() {
  toggle.checked = on;
  document.body.classList.toggle("keys-off", !on);
  for (const element of document.querySelectorAll("[data-key]")) {
    if (on) element.setAttribute("aria-keyshortcuts", element.dataset.key);
    else element.removeAttribute("aria-keyshortcuts");
  }
}

function press(element) {
  if (element.matches("summary")) {
    const form = element.parentElement;
    form.open = !form.open;
    const field = form.querySelector("input:not([type=hidden]), select, textarea, button");
    (form.open && field ? field : element).focus();
    // What stands there is a proposal: Enter takes it, typing replaces it.
    if (form.open && field?.matches("input:not([type]), input[type=text]")) field.select();
  } else if (element.matches("select, input, [tabindex='-1']")) {
    element.focus();
    element.scrollIntoView({ block: "start" });
  } else {
    element.click();
  }
}

document.addEventListener("keydown", (event) => {
  if (!on || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
  if (event.key.length !== 1 || panel.open || isTyping(event.target)) return;
  const key = event.key.toLowerCase();
  const wanted = new CustomEvent("desk:key", { detail: key, cancelable: true });
  if (!document.dispatchEvent(wanted)) {
    event.preventDefault();
    return;
  }
  const element = [...document.querySelectorAll("[data-key]")]
    .find((e) => e.dataset.key === key && e.checkVisibility() && !e.disabled);
  if (!element) return;
  event.preventDefault();
  press(element);
});

opener.hidden = false;
opener.addEventListener("click", () => panel.showModal());
toggle.addEventListener("change", () => {
  on = toggle.checked;
  stored.off = !on;
  show();
});
document.addEventListener("desk:shown", show);
show();
