// What a reading does to the suspects of a ticket, computed on the phone from the ticket's worksheet.
// The same sums as the service makes: every state of the plant is multiplied by the likelihood of the
// readings, and each complaint is put down to the faults that explain it.

import { measured } from "./measuring.js";

const NAMED_FROM = 0.005;
const MOST_SUSPECTS = 12;
export const FIRST_PLACES = 3;

export function weigh(sheet, findings) {
  const used = findings.map((f) => measured(sheet, f)).filter(Boolean);
  const states = allStates(sheet, used.filter((f) => f.home === null));
  const homes = sheet.homes.map((home, at) =>
    homeCells(sheet, home, used.filter((f) => f.home === at), states));
  const weight = weigher(states, homes);
  const causes = new Map();
  homes.forEach((home, at) => putDown(sheet, states, weight, home, at, causes));
  const suspects = [];
  for (const [key, { sum, most }] of causes) {
    const [fault, component, says] = names(sheet, key);
    const probability = sum / homes.length;
    if (fault && probability >= NAMED_FROM) suspects.push({ key, fault, component, says, probability, most });
  }
  const listed = inOrder(suspects);
  const unknown = Math.max(0, 1 - listed.reduce((sum, s) => sum + s.probability, 0));
  const hasShown = sheet.order.has_shown || used.some((f) => f.healthy < sheet.order.unhealthy);
  return { suspects: listed, unknown, hasShown };
}

function names(sheet, key) {
  const [at, own] = key.slice(1).split(".").map(Number);
  const [fault, component, says] = key[0] === "s" ? sheet.faults[at] : sheet.homes[at].own[own - 1];
  return [fault, component, sheet.says[says]];
}

// Whichever of two faults speaks for the check best, else a healthy plant.
function louder(finding, i, j) {
  const a = i < 0 ? NaN : finding.shared[i];
  const b = j < 0 ? NaN : finding.shared[j];
  if (Number.isNaN(a)) return Number.isNaN(b) ? finding.healthy : b;
  return Number.isNaN(b) || a > b ? a : b;
}

const triangle = (a, b) => (a > b ? (a * (a + 1)) / 2 + b : (b * (b + 1)) / 2 + a);

// All shared states: none, each fault, each two; with log weights by onset, shared readings included.
function allStates(sheet, findings) {
  const { none, alone, class: classOf, beside_of: besideOf, beside } = sheet.shared;
  const count = sheet.faults.length;
  const size = 1 + count + (count * (count - 1)) / 2;
  const first = new Int16Array(size).fill(-1);
  const second = new Int16Array(size).fill(-1);
  const logs = none.map(() => new Float64Array(size));
  let at = 0;
  const add = (i, j) => {
    first[at] = i;
    second[at] = j;
    let seen = 0;
    for (const finding of findings) seen += Math.log(louder(finding, i, j));
    const pair = j < 0 ? -1 : besideOf[triangle(classOf[i], classOf[j])];
    for (let o = 0; o < none.length; o += 1) {
      let log = none[o] + seen;
      if (i >= 0) log += alone[o][i];
      if (j >= 0) log += alone[o][j] + beside[o][pair];
      logs[o][at] = log;
    }
    at += 1;
  };
  add(-1, -1);
  for (let i = 0; i < count; i += 1) add(i, -1);
  for (let i = 0; i < count; i += 1) for (let j = i + 1; j < count; j += 1) add(i, j);
  return { first, second, logs, size };
}

// One home with its readings. States with the same row and the same likelihoods of readings are one
// cell: there the home's own states are weighed once.
function homeCells(sheet, home, findings, states) {
  const unshared = ownChances(home, findings, findings.map((finding) => finding.healthy));
  const { class: classOf } = sheet.shared;
  const known = new Map();
  const cells = [];
  const of = new Int32Array(states.size);
  for (let s = 0; s < states.size; s += 1) {
    const i = states.first[s];
    const j = states.second[s];
    const row = i < 0 ? home.row_none
      : j < 0 ? home.row_alone[classOf[i]] : home.row_both[triangle(classOf[i], classOf[j])];
    const looks = findings.map((finding) => louder(finding, i, j));
    const name = `${row} ${looks.join(" ")}`;
    if (!known.has(name)) {
      known.set(name, cells.length);
      const read = ownChances(home, findings, looks);
      cells.push(home.shift.map((_, o) => weighOwn(home, o, row, read, unshared)));
    }
    of[s] = known.get(name);
  }
  return { home, findings, cells, of };
}

// Likelihood of a home's readings by own state: an own fault speaks first, then what is shared.
function ownChances(home, findings, looks) {
  return home.column.map((_, k) => findings.reduce(
    (product, { own }, f) => product * (Number.isNaN(own[k]) ? looks[f] : own[k]), 1));
}

// Own states of one cell at one onset: their weights after the readings, how much likelier all of it
// became by the readings, and the part of a shared explanation beside each own fault. Readings have
// their likelihoods ``read`` here, ``unshared`` where no shared fault is.
function weighOwn(home, o, row, read, unshared) {
  const shift = home.shift[o][row];
  const given = new Float64Array(read.length);
  const part = new Float64Array(read.length);
  let before = 0;
  let after = 0;
  let left = 0;
  for (let k = 0; k < given.length; k += 1) {
    const moved = shift[home.column[k]];
    const log = home.odds[o][k] + moved;
    before += Math.exp(log);
    after += given[k] = Math.exp(log) * read[k];
    part[k] = k === 0 ? 1 : partOfShared(
      read[0] / (Math.exp(log - home.prior[k]) * read[k]),
      (Math.exp(-moved - home.bare[o][row]) * unshared[k]) / read[k],
    );
    left += given[k] * part[k];
  }
  return { given, part, after, gain: Math.log(after / before), left: left / after };
}

// The part of the shared one of two faults, by how likely each alone makes all of it against both: what
// it did alone, and half of what took both.
function partOfShared(sharedAlone, ownAlone) {
  const one = Math.min(sharedAlone, 1);
  const other = Math.min(ownAlone, 1);
  return (1 + (one - other) / Math.max(one + other, 1)) / 2;
}

// The weight of every state by onset with all readings, normalised.
function weigher(states, homes) {
  const weight = states.logs.map((logs) => Float64Array.from(logs));
  let top = -Infinity;
  weight.forEach((part, o) => {
    for (let s = 0; s < part.length; s += 1) {
      for (const home of homes) part[s] += home.cells[home.of[s]][o].gain;
      if (part[s] > top) top = part[s];
    }
  });
  let total = 0;
  for (const part of weight) for (let s = 0; s < part.length; s += 1) total += part[s] = Math.exp(part[s] - top);
  for (const part of weight) for (let s = 0; s < part.length; s += 1) part[s] /= total;
  return weight;
}

// Put one home's complaint down to causes: add that to their sums, and keep the most of any home.
function putDown(sheet, states, weight, home, at, causes) {
  const explains = behind(sheet, weight, home);
  const shared = new Float64Array(sheet.faults.length);
  const own = new Float64Array(home.home.column.length);
  weight.forEach((part, o) => {
    const alone = new Float64Array(home.cells.length);
    const both = new Float64Array(home.cells.length);
    for (let s = 0; s < states.size; s += 1) {
      const i = states.first[s];
      const j = states.second[s];
      const many = (i >= 0 ? explains[i] : 0) + (j >= 0 ? explains[j] : 0);
      if (!many) {
        alone[home.of[s]] += part[s];
        continue;
      }
      both[home.of[s]] += part[s];
      const each = (part[s] * home.cells[home.of[s]][o].left) / many;
      if (i >= 0 && explains[i]) shared[i] += each;
      if (j >= 0 && explains[j]) shared[j] += each;
    }
    home.cells.forEach((byOnset, c) => {
      const { given, part: partShared, after } = byOnset[o];
      for (let k = 1; k < own.length; k += 1) {
        own[k] += (given[k] / after) * (alone[c] + both[c] * (1 - partShared[k]));
      }
    });
  });
  const add = (key, mass) => {
    const { sum, most } = causes.get(key) ?? { sum: 0, most: 0 };
    if (mass) causes.set(key, { sum: sum + mass, most: Math.max(most, mass) });
  };
  shared.forEach((mass, n) => add(`s${n}`, mass));
  own.forEach((mass, k) => add(`h${at}.${k}`, mass));
}

// Which shared faults make what this home said, and the readings in it, twice as likely as none does.
function behind(sheet, weight, { home, findings }) {
  const onsets = weight.map((part) => part.reduce((sum, w) => sum + w, 0));
  const read = (n) => findings.reduce((product, f) => product * louder(f, n, -1), 1);
  const found = new Uint8Array(sheet.faults.length);
  const healthy = read(-1) * onsets.reduce((sum, p, o) => sum + p * Math.exp(home.healthy[o]), 0);
  home.reaching.forEach((n, r) => {
    const said = onsets.reduce((sum, p, o) => sum + p * Math.exp(home.healthy[o] + home.explains[o][r]), 0);
    found[n] = said * read(n) > 2 * healthy ? 1 : 0;
  });
  return found;
}

export const byName = (a, b) => (a < b ? -1 : Number(a > b));
// Equal chances differ here in digits that mean nothing.
const billionths = (chance) => Math.round(chance * 1e9);

// First the leading fault of each of the likeliest components, then the rest by probability. The first
// is where most of the blame lies, the next two are likeliest to be behind any of the complaints.
function inOrder(suspects) {
  const ranked = [...suspects].sort((a, b) =>
    billionths(b.probability) - billionths(a.probability) || byName(a.fault, b.fault) || byName(a.component, b.component));
  const blame = byComponent(ranked, (s) => s.probability);
  const likeliest = [...falling(blame).slice(0, 1), ...falling(byComponent(ranked, (s) => s.most))];
  const first = [...new Set(likeliest)].slice(0, FIRST_PLACES)
    .map((component) => ranked.find((s) => s.component === component));
  const ordered = [...first, ...ranked.filter((s) => !first.includes(s))];
  // The list does not end between equals, such as two boilers of a cascade.
  const least = billionths(ordered[MOST_SUSPECTS - 1]?.probability ?? 0);
  return ordered.filter((s, n) => n < MOST_SUSPECTS || billionths(s.probability) === least)
    .map((s) => ({ ...s, ofPart: blame.get(s.component) }));
}

// What the suspects of each component have together, also of those that are not listed.
function byComponent(suspects, chance) {
  const total = new Map();
  for (const s of suspects) total.set(s.component, (total.get(s.component) ?? 0) + chance(s));
  return total;
}

const falling = (chances) => [...chances]
  .sort((a, b) => billionths(b[1]) - billionths(a[1]) || byName(a[0], b[0])).map(([component]) => component);
