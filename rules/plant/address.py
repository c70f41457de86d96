"""Which of several buildings a person means who writes an address in the middle of other words.

Theory of operation
-------------------
A name such as "12 Elm Street West" is taken apart into house number, proper words ("elm"), kind of
street and points of the compass. Proper words must all be said, a letter or so apart. A number or a
kind beside them that is another one rules the building out, "15 Elm Street" as well as "12 Elm Court";
a kind that is left out does not. Whoever leaves out the number must name the kind, and is understood
only where nothing else fits. A building's id counts where it is said word for word.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from rapidfuzz.distance import OSA

from rules.data import table

__all__ = ["building_meant", "names_a_street", "tells_an_address"]

_WORD = re.compile(r"\d+[a-z]*|[a-z]+")
_HOUSE_NUMBER = re.compile(r"\d+(?!st|nd|rd|th)[a-z]?")
_LETTERS_A_SLIP = 4  # one wrong letter in so many
_WORDS_BETWEEN = 1
_STREET_WORDS = (3, 4)  # of a street with its number: "12 North Oak Street"
_DOOR_LETTERS = 2  # words no longer than this are doors as well
_KIND_SAID, _EXACTLY, _WRONG_DIRECTION = 2, 1, -4


@dataclass(frozen=True, slots=True)
class _Address:
    """Words in order, and what they are; kinds and directions by the first word of their row."""

    words: tuple[str, ...]
    numbers: frozenset[str]
    kinds: frozenset[str]
    directions: frozenset[str]
    proper: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Fit:
    """How well a name is said; ``whole`` unless its number was left out."""

    score: int
    whole: bool


_BY_ID = _Fit(score=0, whole=True)


def building_meant(said: str, names: Mapping[str, str]) -> str | None:
    """The one building that somebody's words name, or None.

    Args:
        said: a text, or what is left of it without the apartment.
        names: what each building is called, by its id.
    """
    words = _address(said)
    fits = {building: _fit(words, _address(name)) for building, name in names.items()}
    found = {building: fit for building, fit in fits.items() if fit is not None}
    found |= {b: _BY_ID for b in names.keys() - found.keys() if _says_id(words.words, b)}
    whole = {building: fit.score for building, fit in found.items() if fit.whole}
    best = [building for building, score in whole.items() if score == max(whole.values())]
    # Without a number it is the only one or none.
    best = best or list(found)
    return best[0] if len(best) == 1 else None


def names_a_street(said: str) -> bool:
    """Whether words are an address rather than anything else: a house number or a kind of street."""
    words = _address(said)
    return bool(words.numbers or words.kinds) and any(len(w) > _DOOR_LETTERS for w in words.proper)


def tells_an_address(said: str) -> bool:
    """Whether a street stands in the middle of other words: its number, its name and its kind in a row.

    The kind may come first ("calle Roble 12"). A temperature or an age beside a word is no address.
    """
    words = _address(said).words
    runs = (words[n : n + length] for length in _STREET_WORDS for n in range(len(words)))
    return any(map(_is_street, runs))


def _is_street(run: Sequence[str]) -> bool:
    """Whether number and kind stand at the two ends, and a name between them."""
    ends, between = _taken_apart((run[0], run[-1])), set(run[1:-1])
    named = bool(between) and between.isdisjoint(_listed("needless") | _listed("no_names"))
    return named and bool(ends.numbers) and bool(ends.kinds)


def _says_id(words: Sequence[str], building: str) -> bool:
    named = _address(building).words
    starts = range(len(words) - len(named) + 1)
    return any(tuple(words[n : n + len(named)]) == named for n in starts)


def _fit(said: _Address, name: _Address) -> _Fit | None:
    places = _places(said.words, name.proper)
    if places is None:
        return None
    beside = _beside(said, places)
    number, kind = beside.numbers & name.numbers, beside.kinds & name.kinds
    other_number = beside.numbers and name.numbers and not number
    other_kind = beside.kinds and name.kinds and not kind
    if other_number or other_kind or (name.numbers and not number and not kind):
        return None
    exactly = [w for w, at in zip(name.proper, places, strict=True) if said.words[at] == w]
    score = (
        (_KIND_SAID if kind else 0)
        + _EXACTLY * len(exactly)
        + _WRONG_DIRECTION * len(beside.directions ^ name.directions)
    )
    return _Fit(score, bool(number) or not name.numbers)


def _places(words: Sequence[str], proper: Sequence[str]) -> list[int] | None:
    """Where proper words are said, near each other; None where one is not, or there are none."""
    places = [place for place in (_place(words, word) for word in proper) if place is not None]
    if not places or len(places) < len(proper):
        return None
    return places if max(places) - min(places) < len(proper) + _WORDS_BETWEEN else None


def _place(words: Sequence[str], word: str) -> int | None:
    """Where a word is said, exactly or with a slip."""
    if word in words:
        return words.index(word)
    slips = len(word) // _LETTERS_A_SLIP if word.isalpha() else 0
    return next((n for n, w in enumerate(words) if OSA.distance(w, word) <= slips), None)


def _beside(said: _Address, places: Sequence[int]) -> _Address:
    """What stands in one run with the proper words: numbers, kinds, directions."""
    first, last = min(places), max(places)
    while first > 0 and _belongs(said.words[first - 1]):
        first -= 1
    while last + 1 < len(said.words) and _belongs(said.words[last + 1]):
        last += 1
    return _taken_apart(said.words[first : last + 1])


def _address(text: str) -> _Address:
    plain = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(c for c in plain if not unicodedata.combining(c) and c not in "'’")
    return _taken_apart([_usual(word) for word in _WORD.findall(plain)])


def _taken_apart(words: Sequence[str]) -> _Address:
    directions = frozenset(words) & _firsts("directions")
    proper = [w for w in words if w not in _listed("needless") and not _belongs(w)]
    if not proper:  # "5 North Street": the point of the compass is its proper name
        proper, directions = [w for w in words if w in directions], frozenset()
    return _Address(
        words=tuple(words),
        numbers=frozenset(w for w in words if _HOUSE_NUMBER.fullmatch(w)),
        kinds=frozenset(words) & _firsts("kinds"),
        directions=directions,
        proper=tuple(proper),
    )


def _belongs(word: str) -> bool:
    """Whether a word is part of an address, though not its proper name."""
    parts = _firsts("kinds") | _firsts("directions") | _listed("between")
    return word in parts or _HOUSE_NUMBER.fullmatch(word) is not None


def _usual(word: str) -> str:
    return _rows("kinds").get(word) or _rows("directions").get(word) or word


@cache
def _rows(part: str) -> Mapping[str, str]:
    """The first word of its row for each word."""
    rows = (row.split() for row in table("streets")[part])
    return {word: row[0] for row in rows for word in row}


@cache
def _firsts(part: str) -> frozenset[str]:
    return frozenset(_rows(part).values())


@cache
def _listed(part: str) -> frozenset[str]:
    return frozenset(table("streets")[part].split())
