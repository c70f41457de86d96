// The suspects of a ticket by part, as the page lays them out, after readings were weighed on the phone.

import { FIRST_PLACES } from "./posterior.js";

export const capital = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

export function clone(id) {
  return document.getElementById(id).content.firstElementChild.cloneNode(true);
}

// Puts words where a template has room for them, and takes away what stays empty.
export function fill(element, words) {
  for (const [name, text] of Object.entries(words)) {
    for (const place of element.querySelectorAll(`[data-slot="${name}"]`)) {
      if (text) place.textContent = text;
      else (place.closest("[data-if]") ?? place).remove();
    }
  }
  return element;
}

export function componentWords(component) {
  const [owner, part] = component.split(/\.(?=[^.]+$)/);
  return ["valve", "thermostat", "circulator", "relay"].includes(part) ? `${part} of ${owner}` : component;
}

export function partWords(component, homes = []) {
  const name = homes.includes(component) ? `home ${component}` : componentWords(component);
  return name === component ? name : capital(name);
}

function perCent(share) {
  if (share < 0.01) return "under 1\u00a0%";
  return `${share > 0.99 ? "over 99" : Math.round(share * 100)}\u00a0%`;
}

function sureness(share) {
  if (share < 0.25) return "unsure";
  return share >= 0.6 ? "likely" : "possible";
}

const chanceWords = (share) => `${sureness(share)}, ${perCent(share)}`;

// A part's own faults, the likeliest first, and the chance that it has any, also one that is not listed.
// The first parts stand in the order in which to look, which the suspects begin with.
export function byPart(suspects) {
  const parts = new Map();
  for (const suspect of suspects) {
    const part = parts.get(suspect.component)
      ?? { component: suspect.component, probability: suspect.ofPart, faults: [] };
    part.faults.push(suspect);
    parts.set(suspect.component, part);
  }
  for (const part of parts.values()) part.faults.sort((a, b) => b.probability - a.probability);
  const all = [...parts.values()];
  const rest = all.slice(FIRST_PLACES).sort((a, b) => b.probability - a.probability);
  return [...all.slice(0, FIRST_PLACES), ...rest];
}

function faultWords({ says, probability }, part) {
  const alone = part.probability - probability < 0.005;
  return capital(says) + (alone ? "" : `, ${perCent(probability)}`);
}

// The first suspect at the top of the page, and the list; what the page says of a repair stays.
export function showSuspects(article, { suspects, unknown }, homes) {
  const list = article.querySelector("#suspects");
  const repairs = new Map([...list.querySelectorAll("[data-fault]")].map(
    (item) => [item.dataset.fault, [...item.querySelectorAll(".why")]]));
  const parts = byPart(suspects);
  const top = article.querySelector("#first-suspect");
  if (parts.length && top) {
    const [lead] = parts;
    fill(top, {
      suspect: `${partWords(lead.component, homes)}: ${chanceWords(lead.probability)}`,
      share: `${faultWords(lead.faults[0], lead)}; ${perCent(unknown)} something else`,
    });
  }
  list.replaceChildren(...parts.map((part) => {
    const shown = fill(clone("suspect"), {
      component: partWords(part.component, homes),
      share: chanceWords(part.probability),
    });
    shown.querySelector("ul").append(...part.faults.map((fault) => {
      const item = document.createElement("li");
      item.dataset.fault = `${fault.fault}|${fault.component}`;
      item.append(faultWords(fault, part), ...(repairs.get(item.dataset.fault) ?? []));
      return item;
    }));
    return shown;
  }));
  const rest = article.querySelector("#unknown");
  if (rest) rest.textContent = `Something else: ${perCent(unknown)}`;
  const [first] = parts;
  return first
    ? `first suspect now ${partWords(first.component, homes)}, ${perCent(first.probability)}.`
    : "no suspect stands out.";
}
