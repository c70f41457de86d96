// What one reading says: how likely each fault and each home's own state make it, as the service reckons.

// Likelihoods of one reading: by shared fault and by own state, NaN where none speaks for the check.
export function measured(sheet, finding) {
  const check = sheet.checks.find((c) => c.check === finding.check);
  const where = check?.where[finding.component];
  if (!where || where.home === -1) return null;
  const healthy = healthyChance(check, finding, sheet.likelihoods);
  const asUsual = healthy > sheet.likelihoods.expected - 1e-9;
  const sets = check.rules.map((rules) => {
    const fitting = rules.filter((rule) => comparable(rule, check, finding));
    return fitting.length ? best(fitting, check, finding, sheet.likelihoods, asUsual) : NaN;
  });
  const own = where.home === null ? [] : ownSets(sheet, check, where.home);
  return {
    home: where.home,
    healthy,
    shared: spread(where.shared, sets, sheet.faults.length),
    own: spread(own, sets, where.home === null ? 0 : sheet.homes[where.home].column.length),
  };
}

// The number of the set of rules that a suspect holds of a check; undefined where it says nothing.
export function setOf(check, key) {
  check.sets ??= new Map(check.expects.flatMap((keys, set) => keys.split(" ").map((name) => [name, set])));
  return check.sets.get(key);
}

// What a home's own faults say of a check, by their numbers.
function ownSets(sheet, check, home) {
  return sheet.homes[home].own
    .map((_, n) => [n + 1, setOf(check, `h${home}.${n + 1}`)])
    .filter(([, set]) => set !== undefined);
}

function spread(pairs, sets, length) {
  const found = new Float64Array(length).fill(NaN);
  for (const [n, set] of pairs) found[n] = sets[set];
  return found;
}

function comparable(rule, check, finding) {
  if (rule.unit && finding.unit && rule.unit !== finding.unit) return false;
  const calling = finding.calling ?? check.untold_call;
  return rule.calling === undefined || calling == null || rule.calling === calling;
}

function healthyChance(check, finding, chances) {
  const rules = check.healthy_rules.filter((rule) => comparable(rule, check, finding));
  if (rules.length) return best(rules, check, finding, chances);
  const word = worded(finding);
  if (word === null || !check.outcomes.length) return chances.no_opinion;
  const good = chances.healthy_words.includes(word) || word === check.outcomes[0];
  return good ? rightWord(check, chances) : wrongWord(check, chances);
}

// Chance of a word of a check where what it needs is not there: some note what is usual all the same.
export function seenWithout(check, word, chances) {
  const wrong = wrongWord(check, chances);
  if (word === check.outcomes[0]) return chances.noted_as_usual;
  return word === check.without[0].word ? chances.expected - chances.noted_as_usual + wrong : wrong;
}

// What is noted wrongly is shared by the other words of a check.
export function wrongWord(check, chances, words = 1) {
  return mistaken(check, chances) / Math.max(check.outcomes.length - words, 1);
}

// The words that are to be expected share what is not noted wrongly.
function rightWord(check, chances, words = 1) {
  return (check.outcomes.length === words ? 1 : 1 - mistaken(check, chances)) / words;
}

function mistaken(check, chances) {
  return check.mistaken ?? 1 - chances.expected;
}

// Several things that may be noted of the same fault share the chance. Where there is nothing to read, one
// in ten notes what is usual all the same.
function best(rules, check, finding, chances, asUsual = false) {
  if (rules.every((rule) => rule.lacking) && check.outcomes.includes(finding.outcome)) {
    return seenWithout(check, finding.outcome, chances);
  }
  const words = new Set(rules.map((rule) => rule.word).filter((word) => word !== undefined)).size;
  const either = words && rules.some((rule) => rule.word === undefined && !rule.lacking) ? 1 : 0;
  const likely = Math.max(...rules.map((rule) => match(rule, check, finding, chances, words + either)));
  return asUsual && rules.some((rule) => rule.lacking) ? Math.max(likely, chances.noted_as_usual) : likely;
}

function worded(finding) {
  return finding.outcome == null ? null : finding.outcome.trim().toLowerCase();
}

function match(rule, check, finding, chances, words) {
  const word = worded(finding);
  const good = chances.healthy_words.includes(word);
  if (good || chances.faulty_words.includes(word)) {
    return Boolean(rule.good) === good ? chances.expected : 1 - chances.expected;
  }
  if (rule.word !== undefined) {
    if (word === null) return rule.lacking ? chances.slip : chances.no_opinion;
    return (word === rule.word ? rightWord : wrongWord)(check, chances, words);
  }
  if (!rule.reads || finding.value == null) {
    return word !== null && word === check.nothing ? 1 - chances.expected : chances.no_opinion;
  }
  const [low, high, tolerance, tenth = 0.1] = rule.reads;
  const below = low - finding.value;
  const above = finding.value - high;
  const [outside, bound] = below > above ? [below, low] : [above, high];
  const slack = tolerance + tenth * Math.abs(bound) + 1e-6;
  if (outside <= slack) return chances.expected;
  return Math.max(chances.expected * Math.exp(-(outside - slack) / slack), check.slip ?? chances.slip);
}
