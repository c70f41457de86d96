"""Whether a text tells of something that threatens life, and what.

Theory of operation
-------------------
This module decides who gets the "leave now" text, so it is kept apart from the rest of the reader
and rests on folding and one table only. Harmless phrases are blanked out first ("gas bill",
"smoking hot"), phrases such as "won't stop" are turned into what they mean, and then each danger's
patterns are looked for. A hit counts unless a negation stands right before it or inside it, and
unless the table's own conditions take it back: a chirping detector with nobody ill, the dust smell
of first heat, something past that has been looked at. In doubt it is a danger.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.folding import Folded, fold

__all__ = ["Danger", "danger_in", "dangers"]

_PATTERN = re.Pattern[str]
_TIMES = ("past", "long_past", "cleared", "not_cleared", "again", "of_heat", "of_danger")


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger and the characters of the original text that tell of it."""

    kind: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class _Table:
    harmless: _PATTERN
    goes_on: tuple[tuple[_PATTERN, str], ...]
    negated_before: _PATTERN
    negator: _PATTERN
    kinds: tuple[tuple[str, dict[str, Any]], ...]
    past: _PATTERN
    long_past: _PATTERN
    cleared: _PATTERN
    not_cleared: _PATTERN
    again: _PATTERN
    of_heat: _PATTERN
    of_danger: _PATTERN


def danger_in(text: str) -> tuple[str, ...]:
    """The dangers a text tells of, each once, in the order of the table."""
    return tuple(dict.fromkeys(danger.kind for danger in dangers(fold(text))))


def dangers(folded: Folded) -> tuple[Danger, ...]:
    """The dangers in folded text, with the place of the first words that tell of each."""
    rules = _table()
    plain = _without_harmless(folded, rules)
    found = []
    for kind, row in rules.kinds:
        if any(word in plain.text for word in row["needs"]):
            hit = next(_hits(plain.text, folded.text, (kind, row), rules), None)
            if hit is not None:
                start, end = plain.origin[hit.start()], plain.origin[hit.end() - 1] + 1
                found.append(Danger(kind, start, end))
    return tuple(found)


def _without_harmless(folded: Folded, rules: _Table) -> Folded:
    plain = _replaced(folded, rules.harmless, "_")
    for pattern, word in rules.goes_on:
        plain = _replaced(plain, pattern, word)
    return plain


def _replaced(folded: Folded, pattern: _PATTERN, word: str) -> Folded:
    """The text with every match replaced by ``word``, which keeps the place of the match."""
    text, done = "", 0
    origin: list[int] = []
    for match in pattern.finditer(folded.text):
        text += folded.text[done : match.start()] + word
        origin += folded.origin[done : match.start()] + (folded.origin[match.start()],) * len(word)
        done = match.end()
    return Folded(text + folded.text[done:], (*origin, *folded.origin[done:])) if done else folded


def _hits(
    text: str, whole: str, kind_and_row: tuple[str, dict[str, Any]], rules: _Table
) -> Iterator[re.Match[str]]:
    kind, row = kind_and_row
    own_negation = row.get("says_with_not", ())
    for pattern in (*row["says"], *own_negation):
        # "The burner is on without a flame" holds its negation itself.
        minds = not row.get("needs_no_negation") and pattern not in own_negation
        for match in pattern.finditer(text):
            negated = minds and _negated(text, match, rules)
            explained = _explained(whole, match, row)
            if not negated and not explained and not _taken_back(text, match, kind, row, rules):
                yield match


def _explained(whole: str, match: re.Match[str], row: dict[str, Any]) -> bool:
    """Whether other words of the text explain a weak sign: dust on first heat, a fever, cooking."""
    weak = row.get("weak", ())
    return any(w["says"].search(match.group()) and w["with"].search(whole) for w in weak)


def _negated(text: str, match: re.Match[str], rules: _Table) -> bool:
    before = re.split(r"[.,;!?\n:]", text[max(0, match.start() - 60) : match.start()])[-1]
    return bool(rules.negated_before.search(before) or rules.negator.search(match.group()))


def _taken_back(
    text: str, match: re.Match[str], kind: str, row: dict[str, Any], rules: _Table
) -> bool:
    if kind == "co" and _battery_only(text, row):
        return True
    if kind == "fire" and _figure_of_speech(text, match, row):
        return True
    if kind == "water_electrics" and row["safe"].search(text):
        return True
    about = _without_heat(text, rules)
    if kind in ("fire", "electrical", "scald") and _long_past(about, rules):
        return True
    return kind in ("gas", "co", "fire", "electrical") and _past_and_cleared(about, rules)


def _battery_only(text: str, row: dict[str, Any]) -> bool:
    if any(pattern.search(text) for pattern in row["unless_not"]):
        return False
    return any(pattern.search(text) for pattern in row["unless"])


def _figure_of_speech(text: str, match: re.Match[str], row: dict[str, Any]) -> bool:
    if "on fire" not in match.group() or not row["figure"].search(text):
        return False
    return bool(row["figure_with"].search(text))


def _without_heat(text: str, rules: _Table) -> str:
    """The text less its clauses about heat alone: "... cleared it, but the heat is still off"."""
    clauses = re.split(r"[.,;!?\n]+|\b(?:but|pero|and|y)\b", text)
    return " , ".join(
        c for c in clauses if not rules.of_heat.search(c) or rules.of_danger.search(c)
    )


def _long_past(text: str, rules: _Table) -> bool:
    return bool(rules.long_past.search(text) and not rules.again.search(text))


def _past_and_cleared(text: str, rules: _Table) -> bool:
    return bool(
        rules.past.search(text)
        and rules.cleared.search(text)
        and not rules.not_cleared.search(text)
        and not rules.again.search(text)
    )


def _either(forms: str) -> str:
    return "(?:" + "|".join(form.strip() for form in forms.split(", ")) + ")"


@cache
def _table() -> _Table:
    raw = table("danger")
    words = {name: _either(forms) for name, forms in raw["words"].items()}

    def compiled(pattern: str) -> _PATTERN:
        # Only the word lists are replaced, so that {0,3} stays a repetition.
        text = re.sub(r"\{([a-z_]+)\}", lambda m: words[m.group(1)], pattern)
        return re.compile(
            text.replace("{{", "{").replace("}}", "}").replace("~", r"[^.!?\n]{0,40}?")
        )

    def row(entry: dict[str, Any]) -> dict[str, Any]:
        made: dict[str, Any] = {}
        for key, value in entry.items():
            if key == "needs" or isinstance(value, bool):
                made[key] = value
            elif isinstance(value, list):
                made[key] = tuple(row(v) if isinstance(v, dict) else compiled(v) for v in value)
            else:
                made[key] = compiled(value)
        return made

    negator = rf"\b{_either(raw['negators'])}\b"
    light = _either(raw["light"])
    return _Table(
        harmless=re.compile("|".join(raw["harmless"])),
        goes_on=tuple((re.compile(pattern), word) for pattern, word in raw["goes_on"]),
        negated_before=re.compile(rf"{negator}(?:\s+{light}\b){{0,4}}\s*$"),
        negator=re.compile(negator),
        kinds=tuple((kind, row(entry)) for kind, entry in raw["kinds"].items()),
        **{name: re.compile(raw[name]) for name in _TIMES},
    )
