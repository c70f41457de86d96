// One check as a card, for checks that the phone works out by itself: the same as the page has them.

import { capital, clone, fill, partWords } from "./suspects.js";

export const spoken = () => JSON.parse(document.getElementById("words").textContent);
export const outcomeSaid = (outcome) => spoken().outcomeWords[outcome] ?? outcome.replaceAll("_", " ");

export function card(step, number) {
  const { unitWords, places } = spoken();
  const probes = step.probes ?? {};
  const made = fill(clone("card"), {
    do: step.do,
    at: `${partWords(step.component)}, ${places[step.place] ?? step.place}, about ${Math.round(step.minutes)}\u00a0min`,
    caution: step.caution && capital(step.caution),
    before: step.probes ? "" : step.before && capital(step.before),
    healthy: capital(step.healthy),
    dial: probes.dial,
    one: probes.one,
    other: probes.other,
    first: probes.first,
  });
  made.querySelector('[data-list="means"]').append(...step.means.map((line) => {
    const item = document.createElement("li");
    item.textContent = capital(line);
    return item;
  }));
  const form = made.querySelector("form");
  form.elements.test.value = step.check;
  form.elements.component.value = step.component;
  const calling = form.querySelector("[data-calling]");
  if (!step.needs_call_state) calling.remove();
  else if (step.place !== "apartment") calling.querySelector("legend").textContent = "Is any thermostat on it calling?";
  const units = step.units ?? [];
  if (units.length) {
    form.querySelector("[data-outcomes]").remove();
    const label = form.querySelector("[data-value] label");
    const inUnit = units.length === 1 ? unitWords[units[0]] ?? units[0] : "";
    label.htmlFor = `value-${number}`;
    if (inUnit) label.textContent += ` in ${inUnit}`;
    form.elements.value.dataset.ranges = JSON.stringify(step.ranges);
    const nothing = form.querySelector("[data-nothing]");
    if (step.nothing) {
      nothing.querySelector("input").value = step.nothing;
      nothing.querySelector("span").textContent = capital(outcomeSaid(step.nothing));
    } else nothing.remove();
    form.elements.value.id = `value-${number}`;
    form.querySelector("[data-unit]").textContent = inUnit;
    const choose = form.elements.unit;
    choose.id = `unit-${number}`;
    for (const unit of units) choose.append(new Option(unitWords[unit] ?? unit, unit));
    choose.hidden = units.length === 1;
  } else {
    form.querySelector("[data-value]").remove();
    form.querySelector("[data-outcomes]").append(...step.outcomes.map((outcome) => {
      const choice = clone("choice");
      choice.querySelector("input").value = outcome;
      choice.querySelector("span").textContent = capital(outcomeSaid(outcome));
      return choice;
    }));
  }
  return made;
}
