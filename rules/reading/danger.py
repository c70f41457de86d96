"""Whether a text tells of something that threatens life, and what.

Theory of operation
-------------------
This module decides who gets the "leave now" text, so it is kept apart from the rest of the reader
and rests on folding, spelling and its own two tables only. Harmless phrases are blanked out first
("smoking hot"), phrases such as "won't stop" are turned into what they mean, and then each danger's
signs are looked for (``signs``): concepts that stand together in one sentence and are not denied. A
sign counts unless the table takes it back: a chirping detector with nobody ill, something past that
has been looked at, a fire across the street. In doubt it is a danger.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.concepts import Concepts
from rules.reading.folding import Folded, fold
from rules.reading.signs import Sign, Tokens, find, listed, parsed_signs

__all__ = ["Danger", "danger_in", "dangers"]

_PATTERN = re.Pattern[str]
_SCOPES = (
    "past",
    "long_past",
    "cleared",
    "not_cleared",
    "again",
    "gone",
    "of_heat",
    "of_danger",
)
_PLACES = ("elsewhere", "here")
_WORDS_OF_SCOPE = ("negators", "negators_after", "light", "units", "goes_on_after_stop")


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger and the characters of the original text that tell of it."""

    kind: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class _Kind:
    signs: tuple[Sign, ...]
    says: tuple[_PATTERN, ...]
    taken_back_by: Mapping[str, tuple[_PATTERN, ...]]


@dataclass(frozen=True, slots=True)
class _Table:
    concepts: Concepts
    words: Mapping[str, frozenset[str]]
    harmless: _PATTERN
    goes_on: tuple[tuple[_PATTERN, str], ...]
    kinds: Mapping[str, _Kind]
    scopes: Mapping[str, _PATTERN]


def danger_in(text: str) -> tuple[str, ...]:
    """The dangers a text tells of, each once, in the order of the table."""
    return tuple(dict.fromkeys(danger.kind for danger in dangers(fold(text))))


def dangers(folded: Folded) -> tuple[Danger, ...]:
    """The dangers in folded text, with the place of the first words that tell of each."""
    rules = _table()
    plain = _without_harmless(folded, rules)
    tokens = Tokens(plain.text, rules.concepts, rules.words)
    found = []
    for kind, row in rules.kinds.items():
        hit = next(_hits(plain.text, tokens, row, rules), None)
        if hit is not None and not _taken_back(plain.text, kind, row, rules):
            found.append(Danger(kind, plain.origin[hit[0]], plain.origin[hit[1] - 1] + 1))
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


def _hits(text: str, tokens: Tokens, row: _Kind, rules: _Table) -> Iterator[tuple[int, int]]:
    """First and last character of the places where a danger is told, here and not elsewhere."""
    for sign in row.signs:
        span = find(tokens, sign)
        if span is not None and not _is_elsewhere(text, tokens, span[0], rules):
            yield tokens.starts[span[0]], tokens.ends[span[1]]
    for pattern in row.says:
        for match in pattern.finditer(text):
            yield match.span()


def _is_elsewhere(text: str, tokens: Tokens, at: int, rules: _Table) -> bool:
    """Whether the sentence of a token is about another building."""
    sentence = tokens.sentences[at]
    of_it = [i for i, other in enumerate(tokens.sentences) if other == sentence]
    said = text[tokens.starts[of_it[0]] : tokens.ends[of_it[-1]]]
    return bool(rules.scopes["elsewhere"].search(said)) and not rules.scopes["here"].search(said)


def _taken_back(text: str, kind: str, row: _Kind, rules: _Table) -> bool:
    back = row.taken_back_by
    # A detector that only says its battery is low, with nobody ill.
    if "unless" in back and _any(back["unless"], text) and not _any(back["unless_not"], text):
        return True
    if "figure" in back and _any(back["figure"], text) and _any(back["figure_with"], text):
        return not _any(back["figure_not"], text)
    about = _without_heat(text, rules.scopes)
    if kind in ("fire", "electrical", "scald") and _long_past(about, rules.scopes):
        return True
    return kind in ("gas", "co", "fire", "electrical") and _past_and_cleared(about, rules.scopes)


def _any(patterns: tuple[_PATTERN, ...], text: str) -> bool:
    return any(pattern.search(text) for pattern in patterns)


def _without_heat(text: str, scopes: Mapping[str, _PATTERN]) -> str:
    """The text less its clauses about heat alone: "... cleared it, but the heat is still off"."""
    clauses = re.split(r"[.,;!?\n]+|\b(?:but|pero|and|y)\b", text)
    return " , ".join(
        c for c in clauses if not scopes["of_heat"].search(c) or scopes["of_danger"].search(c)
    )


def _long_past(text: str, scopes: Mapping[str, _PATTERN]) -> bool:
    return bool(scopes["long_past"].search(text) and not scopes["again"].search(text))


def _past_and_cleared(text: str, scopes: Mapping[str, _PATTERN]) -> bool:
    rest, gone = scopes["gone"].subn(" ", text)
    return bool(
        (gone or scopes["past"].search(text))
        and scopes["cleared"].search(text)
        and not scopes["not_cleared"].search(text)
        and not scopes["again"].search(rest)
    )


@cache
def _table() -> _Table:
    raw = table("danger")
    concepts = Concepts(table("danger_words"), raw["hides"])
    return _Table(
        concepts=concepts,
        words={name: listed(raw[name]) for name in _WORDS_OF_SCOPE},
        harmless=re.compile("|".join(raw["harmless"])),
        goes_on=tuple((re.compile(pattern), word) for pattern, word in raw["goes_on"]),
        kinds={kind: _kind(row, concepts) for kind, row in raw["kinds"].items()},
        scopes={name: re.compile(raw[name]) for name in (*_SCOPES, *_PLACES)},
    )


def _kind(row: Mapping[str, Any], concepts: Concepts) -> _Kind:
    patterns = {
        name: tuple(re.compile(pattern) for pattern in listed_patterns)
        for name, listed_patterns in row.items()
        if name != "signs"
    }
    return _Kind(parsed_signs(row["signs"], concepts), patterns.pop("says", ()), patterns)
