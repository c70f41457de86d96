// The checks still worth making with the suspects as they now are, in the order in which to make them.
// The same order as the service finds.

import { byName } from "./posterior.js";

// What a check would read at one place under a suspect; healthy where it does not concern it.
function readingAt(check, place, key) {
  const { reaches, deaf } = check.where[place];
  const concerned = key[0] === "s"
    ? !deaf?.includes(key)
    : reaches.includes(Number(key.slice(1).split(".")[0]));
  return (concerned && check.tells[key]) || "healthy";
}

// Every check at every place where some suspect has it made, but those made there already.
function measurements(sheet, suspects, made) {
  return sheet.checks.flatMap((check) => {
    const places = new Set(suspects.filter((s) => s.key in check.tells).map((s) => check.at[s.key]));
    return [...places]
      .filter((component) => !made.includes(`${check.check} ${component}`))
      .map((component) => ({
        check, component, readings: suspects.map((s) => readingAt(check, component, s.key)),
      }));
  });
}

// The checks still worth making, the best first: bits of uncertainty a minute.
export function nextChecks(sheet, suspects, made) {
  const total = suspects.reduce((sum, s) => sum + s.probability, 0);
  const weight = suspects.map((s) => s.probability / total);
  const left = new Set(measurements(sheet, suspects, made));
  const steps = [];
  let heaps = suspects.map(() => "");
  let place = null;
  while (left.size && steps.length < sheet.order.most) {
    let chosen = null;
    for (const one of left) {
      const after = one.readings.map((reading, n) => `${heaps[n]}|${reading}`);
      const bits = entropy(weight, after) - entropy(weight, heaps);
      const rate = bits / (one.check.minutes + extraMinutes(sheet.order, one.check, place));
      if (!chosen || rate > chosen.rate || (rate === chosen.rate && isLater(one, chosen.one))) {
        chosen = { one, after, bits, rate };
      }
    }
    if (chosen.bits < sheet.order.least_bits) break;
    left.delete(chosen.one);
    heaps = chosen.after;
    place = chosen.one.check.place;
    steps.push(step(chosen.one, suspects));
  }
  return steps;
}

// Of equally good ones the later by name, as the service has it.
function isLater(one, other) {
  return byName(one.check.check, other.check.check) > 0
    || (one.check === other.check && byName(one.component, other.component) > 0);
}

function extraMinutes(order, check, place) {
  const walk = place === check.place ? 0 : order.change_of_place[check.place];
  return walk + (check.caution.includes("120 V") ? order.line_voltage : 0);
}

function entropy(weight, heaps) {
  const mass = new Map();
  heaps.forEach((heap, n) => mass.set(heap, (mass.get(heap) ?? 0) + weight[n]));
  let bits = 0;
  for (const m of mass.values()) if (m > 0) bits -= m * Math.log2(m);
  return bits;
}

function step({ check, component, readings }, suspects) {
  const { do: here } = check.where[component];
  return { ...check, do: here ?? check.do, component, means: meanings(readings, suspects) };
}

// Reading by reading, whom it points to; the healthy one last.
function meanings(readings, suspects) {
  const heaps = new Map();
  for (const [n, s] of suspects.entries()) {
    const reading = readings[n];
    const name = s.says.split(";")[0];
    if (!heaps.has(reading)) heaps.set(reading, []);
    if (!heaps.get(reading).includes(name)) heaps.get(reading).push(name);
  }
  return [...heaps]
    .sort(([a], [b]) => (a === "healthy") - (b === "healthy") || byName(a, b))
    .map(([reading, listed]) => `${reading}: ${orWords(listed)}`);
}

function orWords(listed) {
  const lower = listed.slice(0, 3).map((n) => (/^.[a-z]/.test(n) ? n[0].toLowerCase() + n.slice(1) : n));
  return lower.join(" or ") + (listed.length > 3 ? " or another" : "");
}
