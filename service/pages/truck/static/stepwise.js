// A ticket of the truck: one check at a time; a reading is saved here first, re-ranks the suspects on
// the spot and gives the next check. When the office has answered, its word replaces this phone's.

import { card, outcomeSaid, spoken } from "./card.js";
import { worksheet } from "./carry.js";
import { nextChecks } from "./nextchecks.js";
import { smaller } from "./photo.js";
import { weigh } from "./posterior.js";
import { readingOf } from "./reading.js";
import { add, ofTicket } from "./store.js";
import { componentWords, showSuspects } from "./suspects.js";
import { clock, onSent, send, start, tell } from "./truck.js";

const article = document.querySelector("[data-ticket]");
const ticket = article.dataset.ticket;
let carried = null;
let current = 0;

const $ = (selector) => article.querySelector(selector);
// One check at a time

function all() {
  return [...$("#steps")?.children ?? []];
}

// Whether one of these readings was made for this card.
function isEntered(step, readings) {
  const { test, component } = step.querySelector("form").elements;
  return readings.some(({ body }) => body.check === test.value && body.component === component.value);
}

function show(at) {
  const steps = all();
  if (!steps.length) return;
  current = Math.min(Math.max(at, 0), steps.length - 1);
  steps.forEach((step, n) => { step.classList.toggle("later", n !== current); });
  const form = steps[current].querySelector("details:not(.what)");
  if (form) {
    form.open = true;
    form.querySelector("summary").hidden = true;
  }
  $("#turn").hidden = steps.length < 2;
  $("#which").textContent = `Check ${current + 1} of ${steps.length}`;
  $("#back").disabled = current === 0;
  $("#skip").disabled = current === steps.length - 1;
}

async function taken(kind, entry) {
  await add({ ticket, kind, ...entry });
  await refresh();
  await tell("");
  send();
}

// What this phone knows

async function refresh() {
  const entries = await ofTicket(ticket);
  list(entries);
  const sheet = carried?.sheet;
  const arrived = carried?.arrived ?? [];
  const readings = entries.filter((e) => e.kind === "reading"
    && (e.state === "waiting" || (e.state === "taken" && !arrived.includes(e.id))));
  if (!readings.length) return;
  if (!sheet) {
    $("#weighed").textContent = "Saved. The suspects are weighed again when there is signal.";
    show(all().findIndex((step) => !isEntered(step, readings)));
    return;
  }
  const weighed = weigh(sheet, readings.map((e) => e.body));
  const made = [...sheet.made, ...readings.map((e) => `${e.body.check} ${e.body.component}`)];
  const next = nextChecks(sheet, weighed.suspects, made, { ...weighed, place: placeOf(sheet, readings.at(-1).body) });
  const first = showSuspects(article, weighed, sheet.homes.map((h) => h.home));
  $("#steps").replaceChildren(...next.map(card));
  show(0);
  $("#weighed").textContent = `Weighed on this phone: ${first}`;
  $("#no-check").hidden = next.length > 0;
  if (!next.length) $("#turn").hidden = true;
  // The form that was just sent is gone: whoever works by keyboard goes on at the heading.
  if (document.activeElement === document.body) $("#checks").focus();
}

// The place at which a reading was made: there somebody stands.
function placeOf(sheet, { check }) {
  return sheet.checks.find((c) => c.check === check)?.place;
}

function describe({ kind, body }) {
  if (kind === "note") return `Note: ${body.text}`;
  if (kind === "photo") return "Photo";
  const reading = body.outcome ? outcomeSaid(body.outcome) : `${body.value} ${body.unit}`;
  const call = { true: ", calling", false: ", not calling" }[body.calling] ?? "";
  const made = spoken().checkWords[body.check] ?? body.check.replaceAll("_", " ");
  return `${made} at ${componentWords(body.component)}: ${reading}${call}`;
}

function stateWords(entry) {
  if (entry.state === "waiting") return "saved here, waiting";
  const news = entry.state === "aside" || entry.now !== ticket ? `. ${entry.says}` : "";
  return `sent ${clock(entry.at)}${news}`;
}

function list(entries) {
  $("#entered").hidden = !entries.length;
  $("#entered ul").replaceChildren(...entries.map((entry) => {
    const item = document.createElement("li");
    item.textContent = `${describe(entry)}: ${stateWords(entry)}`;
    if (entry.now && entry.now !== ticket) {
      const link = document.createElement("a");
      link.href = `/truck/tickets/${entry.now}`;
      link.textContent = "Go there";
      item.append(" ", link);
    }
    return item;
  }));
}

// The office's word

function isTyping() {
  return [...article.querySelectorAll("#steps input[name=value], #note-text")].some((i) => i.value.trim());
}

async function officeWord() {
  list(await ofTicket(ticket));
  let page;
  try {
    const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch {
    return;
  }
  await loadSheet();
  if (isTyping()) {
    await refresh();
    return;
  }
  for (const part of [".brief", ".part-checks", ".part-suspects"]) {
    const fresh = page.querySelector(part);
    if (fresh && $(part)) $(part).replaceWith(fresh);
  }
  ready();
  $("#weighed").textContent = "Sent. Suspects and checks are the office's now, with your readings weighed.";
  list(await ofTicket(ticket));
  await refresh();
}

async function loadSheet() {
  try {
    carried = (await worksheet(ticket)) ?? carried;
  } catch {
    // Without a worksheet readings are kept and weighed later.
  }
}

// Photos

async function photographed(input) {
  const [file] = input.files;
  if (!file) return;
  try {
    await taken("photo", { body: {}, picture: await smaller(file) });
  } catch {
    $("#weighed").textContent = "This file is no photo that can be read.";
  }
  input.value = "";
}

function ready() {
  if ($("#steps")) show(0);
  $("#back")?.addEventListener("click", () => show(current - 1));
  $("#skip")?.addEventListener("click", () => show(current + 1));
}

article.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.matches(".finding")) {
    event.preventDefault();
    const body = readingOf(form);
    if (!body) return;
    form.querySelector(".wrong")?.remove();
    form.reset();
    taken("reading", { body });
  } else if (form.id === "note") {
    event.preventDefault();
    const text = form.elements.text.value.trim();
    if (text) taken("note", { body: { text } }).then(() => form.reset());
  }
});

async function begin() {
  ready();
  const photo = $("#photo");
  if (photo) {
    photo.hidden = false;
    photo.querySelector("input").addEventListener("change", (event) => photographed(event.target));
  }
  onSent(officeWord);
  const sheet = loadSheet();
  start(sheet);
  list(await ofTicket(ticket));
  await sheet;
  await refresh();
}

if ("indexedDB" in window && $("#steps")) begin();
else start();
