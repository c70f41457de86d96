// How much a check would tell, as the service reckons it: bits of what it may show about who is at
// fault, given what the checks before it may have shown.

import { seenWithout, wrongWord } from "./measuring.js";

const RARE = 5e-3;

// P(reading | suspect): one row for each set of rules, null for a suspect that leaves the check healthy.
export function readingChances(check, sets, chances) {
  return check.outcomes.length ? ofWords(check, sets, chances) : ofFigures(check, sets, chances);
}

// The same with a last row for something else, which lets what is needed be there no oftener than the
// suspects do.
export function chancesWithElse(check, sets, weights, chances) {
  const lacks = (rules) => rules?.some((rule) => rule.lacking);
  const gone = sum(sets.map((rules, n) => (lacks(rules) ? weights[n] : 0)));
  if (!gone) return readingChances(check, [...sets, null], chances);
  const every = readingChances(check, [...sets, null, check.without], chances);
  const share = gone / sum(weights);
  const [healthy, lacking] = every.slice(-2);
  return [...every.slice(0, -2), healthy.map((p, n) => (1 - share) * p + share * lacking[n])];
}

function ofWords(check, sets, chances) {
  const wrong = wrongWord(check, chances);
  return sets.map((rules) => {
    if (rules?.length && rules.every((rule) => rule.lacking)) {
      return check.outcomes.map((word) => seenWithout(check, word, chances));
    }
    const words = (rules ?? []).map((rule) => rule.word).filter((word) => word !== undefined);
    const fitting = words.length ? words : [check.outcomes[0]];
    const row = check.outcomes.map((word) => (fitting.includes(word) ? chances.expected : wrong));
    const total = row.reduce((sum, p) => sum + p, 0);
    return row.map((p) => p / total);
  });
}

function ofFigures(check, sets, chances) {
  // Where there is a word for nothing to read, what is then read is as good as nothing.
  const figures = sets.map((rules) =>
    rules?.filter((rule) => rule.word === undefined && !(check.nothing && rule.lacking)) ?? []);
  let made = sets.map(() => [1]);
  for (const [unit, calling] of states(check, figures)) {
    const part = ofRanges(check, figures, unit, calling, chances);
    made = made.map((row, n) => row.flatMap((p) => part[n].map((q) => p * q)));
  }
  return check.nothing ? made.map((row, n) => orNothing(row, sets[n], figures[n], chances)) : made;
}

// Figures and, last, that there was nothing to read; a suspect that may show both shows each half.
function orNothing(row, rules, figures, chances) {
  const lacks = rules?.some((rule) => rule.lacking);
  const nothing = !lacks ? 1 - chances.expected : figures.length ? 0.5 : chances.expected;
  return [...row.map((p) => p * (1 - nothing)), nothing];
}

// Units and states of the call in which some suspect expects a figure of its own.
function states(check, sets) {
  const found = new Map();
  const add = (unit, calling) => found.set(`${unit} ${calling}`, [unit, calling]);
  for (const rule of sets.flat()) {
    if (rule.calling !== undefined) {
      add(rule.unit, rule.calling);
      continue;
    }
    const held = check.healthy_rules.filter((good) => good.unit === rule.unit);
    if (held.length) held.forEach((good) => add(rule.unit, good.calling));
    else add(rule.unit, undefined);
  }
  return [...found.values()];
}

function ofRanges(check, sets, unit, calling, chances) {
  const usual = ranges(check.healthy_rules, unit, calling);
  const wanted = sets.map((rules) => {
    const own = ranges(rules, unit, calling);
    return own.length ? own : usual;
  });
  const ends = [...new Set(wanted.flat(2))].sort((a, b) => a - b);
  if (ends.length < 2) return sets.map(() => [1]);
  const pieces = ends.slice(1).map((end, n) => [ends[n], end]);
  const error = (1 - chances.expected) / pieces.length;
  return wanted.map((suspect) => {
    const inside = pieces.map(([low, high]) =>
      (suspect.some(([a, b]) => a <= low && high <= b) ? high - low : 0));
    const total = inside.reduce((sum, length) => sum + length, 0);
    return inside.map((length) =>
      chances.expected * (total > 0 ? length / total : 1 / pieces.length) + error);
  });
}

function ranges(rules, unit, calling) {
  return rules
    .filter((rule) => rule.reads && rule.unit === unit
      && (rule.calling === undefined || calling === undefined || rule.calling === calling))
    .map(({ reads: [low, high, tolerance] }) => [low - tolerance - 1e-6, high + tolerance + 1e-6]);
}

// What the checks so far may have shown: weights of the suspects for each course of readings.
export class Told {
  constructor(weight) {
    this.courses = [weight];
  }

  // Expected bits of one more check.
  bits(chances) {
    return uncertain(this.courses) - uncertain(this.#after(chances));
  }

  // Go on as if it had been made, whatever it shows.
  measure(chances) {
    const kept = this.#after(chances).filter((course) => sum(course) > RARE);
    const total = sum(kept.map(sum));
    this.courses = kept.map((course) => course.map((p) => p / total));
  }

  #after(chances) {
    return this.courses.flatMap((course) =>
      chances[0].map((_, reading) => course.map((p, suspect) => p * chances[suspect][reading])));
  }
}

function uncertain(courses) {
  let bits = 0;
  for (const course of courses) {
    const total = sum(course);
    for (const p of course) if (p > 0) bits -= p * Math.log2(p / total);
  }
  return bits;
}

function sum(values) {
  return values.reduce((total, value) => total + value, 0);
}
