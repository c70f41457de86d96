// The checks still worth making with the suspects as they now are, in the order in which to make them.
// The same order as the service finds.

import { setOf } from "./measuring.js";
import { byName } from "./posterior.js";
import { chancesWithElse, Told } from "./telling.js";

// Whether what a suspect says of a check is about this place.
function isConcerned(check, place, key) {
  const { reaches, deaf } = check.where[place];
  return key[0] === "s"
    ? !deaf?.includes(key)
    : reaches.includes(Number(key.slice(1).split(".")[0]));
}

// What a check would read at one place under a suspect; healthy where it does not concern it.
function readingAt(check, place, key) {
  const set = setOf(check, key);
  return set !== undefined && isConcerned(check, place, key) ? check.words[set] : "healthy";
}

// The rules of what it would read there; null where it is healthy.
function expectedAt(check, place, key) {
  const set = setOf(check, key);
  return set !== undefined && isConcerned(check, place, key) ? check.rules[set] : null;
}

// Where it would be made for these suspects, in their order.
function placesOf(check, suspects) {
  check.placed ??= new Map(Object.entries(check.at)
    .flatMap(([place, keys]) => keys.split(" ").map((key) => [key, place])));
  return new Set(suspects.filter((s) => check.placed.has(s.key)).map((s) => check.placed.get(s.key)));
}

// Every check at every place where some suspect has it made, but those made there already.
function measurements(sheet, suspects, made) {
  return sheet.checks.flatMap((check) => {
    const places = placesOf(check, suspects);
    const weights = suspects.map((s) => s.probability);
    return [...places]
      .filter((component) => !made.includes(`${check.check} ${component}`))
      .flatMap((component) => {
        const readings = suspects.map((s) => readingAt(check, component, s.key));
        const expected = suspects.map((s) => expectedAt(check, component, s.key));
        const one = (sets, inQuiet) => (
          { check, component, readings, inQuiet, chances: chancesWithElse(check, sets, weights, sheet.likelihoods) });
        return check.where[component].several && tellInQuiet(expected)
          ? [one(expected.map(withACall), false), one(expected, true)]
          : [one(expected, false)];
      });
  });
}

// Whether something would show while none of several homes calls, which somebody has to see to first.
function tellInQuiet(expected) {
  return expected.some((rules) => rules?.some((rule) => rule.calling === false && !rule.good));
}

// What is expected while somebody calls.
function withACall(rules) {
  return rules?.filter((rule) => rule.calling !== false).map((rule) => ({ ...rule, calling: true })) ?? null;
}

// The checks still worth making, the best first; where something else holds most, then what is begun
// with in any case. What is looked at before all else comes first. Once a reading has shown what no healthy
// plant does, nothing is doubted that the diagnosis does not doubt itself.
// Whoever has measured stands at a place, and walks from there.
export function nextChecks(sheet, suspects, made, { hasShown, place } = {}) {
  const shown = hasShown ?? sheet.order.has_shown;
  const { most, mostly_unknown: mostlyUnknown, least_doubt: leastDoubt, on_entry: onEntry } = sheet.order;
  const unknown = Math.max(0, 1 - suspects.reduce((sum, s) => sum + s.probability, 0));
  const doubt = unknown > leastDoubt ? unknown : shown ? 0 : leastDoubt;
  // What is begun with has the texts of its check, where that travels with the ticket anyway.
  const first = sheet.first.filter((s) => !made.includes(nameOf(s)))
    .map((s) => ({ ...sheet.checks.find(({ check }) => check === s.check), ...s }));
  // Until it has been looked at what is scorched, nothing is made that needs power.
  const off = first.filter((s) => sheet.power_off.checks.includes(nameOf(s)));
  const listed = new Map();
  for (const step of off.some((s) => s.check === sheet.power_off.until) ? off : [
    ...first.filter((s) => sheet.before_all.includes(nameOf(s))),
    ...byBits(sheet, suspects, doubt, made, place ?? sheet.order.place),
    ...(unknown > mostlyUnknown ? first : []),
  ]) if (!listed.has(nameOf(step))) listed.set(nameOf(step), step);
  return [...listed.values()].slice(0, most)
    .sort((one, other) => (one.check !== onEntry) - (other.check !== onEntry));
}

const nameOf = (step) => `${step.check} ${step.component}`;

// Those that tell suspects apart, by bits a minute. The last is something else, which leaves every part
// healthy.
function byBits(sheet, suspects, unknown, made, start) {
  const total = Math.max(suspects.reduce((sum, s) => sum + s.probability, 0), 1e-12);
  const told = new Told([...suspects.map((s) => (s.probability * (1 - unknown)) / total), unknown]);
  let left = measurements(sheet, suspects, made);
  const mended = mendedAt(sheet, suspects, (1 - unknown) / total);
  const steps = [];
  let place = start;
  while (steps.length < sheet.order.most) {
    let chosen = null;
    const minutes = (one) => one.check.minutes + extraMinutes(sheet.order, one, place, mended);
    const telling = left.map((one) => ({ one, bits: told.bits(one.chances) }))
      .filter(({ one, bits }) => bits >= leastBits(sheet.order, one, minutes(one)));
    const onEntry = steps.length ? [] : telling.filter(({ one }) => one.check.check === sheet.order.on_entry);
    for (const { one, bits } of onEntry.length ? onEntry : telling) {
      const first = before(one, telling.map((each) => each.one));
      const rate = bits / first.reduce((sum, look) => sum + minutes(look), minutes(one));
      const score = Math.round(rate * 1e9);
      if (!chosen || score > chosen.score || (score === chosen.score && isLater(one, chosen.one))) {
        chosen = { one, score, first };
      }
    }
    if (!chosen) break;
    [chosen.one] = [...chosen.first, chosen.one];
    left = left.filter((one) => one.check !== chosen.one.check || one.component !== chosen.one.component);
    told.measure(chosen.one.chances);
    place = chosen.one.check.place;
    steps.push(step(chosen.one, suspects));
  }
  return steps;
}

// A danger in the air is looked for where it is half as likely as other things are.
function leastBits({ least_bits: least, least_bits_a_minute: each, on_entry: onEntry }, { check }, minutes) {
  return check.check === onEntry ? least / 2 : Math.max(least, each * minutes);
}

// What is looked at before a check is made, as far as it tells anything.
function before(one, telling) {
  const near = one.check.after_near ?? [];
  const looks = telling.filter(({ check, component, inQuiet }) =>
    !inQuiet && (component === one.component || near.includes(check.check)));
  return (one.check.after ?? []).flatMap((name) => looks.filter(({ check }) => check.check === name));
}

// Of equally good ones the later by name, as the service has it.
function isLater(one, other) {
  return byName(one.check.check, other.check.check) > 0
    || (one.check === other.check && (byName(one.component, other.component) > 0
      || (one.component === other.component && !one.inQuiet)));
}

// The chance by place that the cause is mended there: a walk that the repair takes anyway costs nothing.
function mendedAt(sheet, suspects, share) {
  const mended = {};
  for (const { component, probability } of suspects) {
    const place = sheet.in_homes.includes(component) ? "apartment" : "boiler_room";
    mended[place] = (mended[place] ?? 0) + probability * share;
  }
  return mended;
}

function extraMinutes(order, { check, inQuiet }, place, mended) {
  const walk = place === check.place ? 0 : order.change_of_place[check.place] * (1 - (mended[check.place] ?? 0));
  return walk + (check.check === order.on_entry ? 0 : order.any_check) + (inQuiet ? order.quiet : 0)
    + ((check.caution ?? "").toLowerCase().includes(order.live) ? order.line_voltage : 0);
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
  const lower = listed.slice(0, 3).map((n) => (/^.[a-z ]/.test(n) ? n[0].toLowerCase() + n.slice(1) : n));
  return lower.join(" or ") + (listed.length > 3 ? " or another" : "");
}
