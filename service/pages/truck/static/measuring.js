// What one reading says: how likely each fault and each home's own state make it, as the service reckons.

// Likelihoods of one reading: by shared fault and by own state, NaN where none speaks for the check.
export function measured(sheet, finding) {
  const check = sheet.checks.find((c) => c.check === finding.check);
  const where = check?.where[finding.component];
  if (!where || where.home === -1) return null;
  const sets = check.rules.map((rules) => {
    const fitting = rules.filter((rule) => comparable(rule, finding));
    return fitting.length ? best(fitting, check, finding, sheet.likelihoods) : NaN;
  });
  const own = where.home === null ? 0 : sheet.homes[where.home].column.length;
  return {
    home: where.home,
    healthy: healthyChance(check, finding, sheet.likelihoods),
    shared: spread(where.shared, sets, sheet.faults.length),
    own: spread(where.own, sets, own),
  };
}

function spread(pairs, sets, length) {
  const found = new Float64Array(length).fill(NaN);
  for (const [n, set] of pairs) found[n] = sets[set];
  return found;
}

function comparable(rule, finding) {
  if (rule.unit && finding.unit && rule.unit !== finding.unit) return false;
  return rule.calling === undefined || finding.calling == null || rule.calling === finding.calling;
}

function healthyChance(check, finding, chances) {
  const rules = check.healthy_rules.filter((rule) => comparable(rule, finding));
  if (rules.length) return best(rules, check, finding, chances);
  const word = worded(finding);
  if (word === null || !check.outcomes.length) return chances.no_opinion;
  const good = chances.healthy_words.includes(word) || word === check.outcomes[0];
  return good ? chances.expected : wrongWord(check, chances);
}

// What is left to error is shared by the other words of a check.
function wrongWord(check, chances) {
  return (1 - chances.expected) / Math.max(check.outcomes.length - 1, 1);
}

function best(rules, check, finding, chances) {
  return Math.max(...rules.map((rule) => match(rule, check, finding, chances)));
}

function worded(finding) {
  return finding.outcome == null ? null : finding.outcome.trim().toLowerCase();
}

function match(rule, check, finding, chances) {
  const word = worded(finding);
  const good = chances.healthy_words.includes(word);
  if (good || chances.faulty_words.includes(word)) {
    return rule.good === good ? chances.expected : 1 - chances.expected;
  }
  if (rule.word !== undefined) {
    if (word === null) return chances.no_opinion;
    return word === rule.word ? chances.expected : wrongWord(check, chances);
  }
  if (!rule.reads || finding.value == null) return chances.no_opinion;
  const [low, high, belowSlack, aboveSlack, slip] = rule.reads;
  const below = low - finding.value;
  const above = finding.value - high;
  const [outside, slack] = below > above ? [below, belowSlack] : [above, aboveSlack];
  if (outside <= slack) return chances.expected;
  return Math.max(chances.expected * Math.exp(-(outside - slack) / slack), slip);
}
