"""The concepts a danger is told with, and the word a misspelt one is meant for.

Theory of operation
-------------------
A concept is a set of words that mean the same danger-wise, in any language: SMELL is "smells",
"odor", "huele", "apesta". A form may be several words, or a stem ("huel*"). A word that no table
knows is guessed: letters typed twice, an ending that makes it smaller or bigger ("labiecitos"), a word
written as it sounds ("savana", "uele"), a form of the same beginning that differs by one slip, two in
long words. Unlike the classes of the other rooms, no form hides another: "gas leak detector" names
gas, a leak and a detector.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from rules.reading.spelling import (
    about_as_long,
    grouped,
    is_swapped_letter,
    nearly,
    sound,
    without_ending,
)
from rules.reading.vocabulary import vocabulary

__all__ = ["Concepts", "Named"]

_SHORTEST_CHECKED = 3
_SHORTEST_MISSPELT = 5
_LONGEST_MISSPELT = 24
_LONG_WORD = 9
_STEM_LETTERS = 3
_SHORTEST_SOUND = 4


class Named(NamedTuple):
    """The concepts a word names, and whether it had to be taken for another word."""

    concepts: frozenset[str]
    guessed: bool


class Concepts:
    """The forms of all concepts, by word, by stem and by first word of several."""

    def __init__(
        self,
        raw: Mapping[str, str],
        hides: Mapping[str, Sequence[str]],
        spelt_right: frozenset[str] = frozenset(),
    ) -> None:
        self.names = frozenset(raw)
        self.hides = hides
        self._spelt_right = spelt_right | vocabulary().known
        self._words: dict[str, set[str]] = defaultdict(set)
        self._stems: dict[str, list[tuple[str, str]]] = defaultdict(list)
        # By the first word, then by the second, or by a star where that is a stem.
        self._phrases: dict[str, dict[str, list[tuple[tuple[str, ...], str]]]] = {}
        for name, forms in raw.items():
            for form in (f.strip() for f in forms.split(",")):
                self._add(name, form)
        stems = {stem for listed in self._stems.values() for stem, _ in listed}
        # What a misspelling may be meant for.
        self._whole = grouped(self._words.keys() - stems, _SHORTEST_MISSPELT)
        self._beginnings = grouped(stems, _SHORTEST_MISSPELT)
        self._sounds = self._by_sound()
        self.of = lru_cache(maxsize=8192)(self._of)

    def _add(self, name: str, form: str) -> None:
        parts = tuple(form.split())
        if len(parts) > 1:
            first = parts[0]
            if first.endswith("*"):
                raise ValueError(f"a form of several words begins with a stem: {form}")
            second = "*" if parts[1].endswith("*") else parts[1]
            longer = self._phrases.setdefault(first, {})
            longer.setdefault(second, []).append((parts[1:], name))
        elif form.endswith("*"):
            self._stems[form[:_STEM_LETTERS]].append((form[:-1], name))
        elif form:
            self._words[form].add(name)

    def _by_sound(self) -> dict[str, str]:
        words = [w for w in sorted(self._words) if len(w) >= _SHORTEST_MISSPELT and w.isalpha()]
        return {sound(word): word for word in words if len(sound(word)) >= _SHORTEST_SOUND}

    def _of(self, word: str) -> Named:
        """The concepts a single word names, and whether they are guessed."""
        plain = self._exactly(word)
        if plain or len(word) < _SHORTEST_CHECKED or word in self._spelt_right:
            return Named(plain, guessed=False)
        return Named(self._guess(word), guessed=True)

    def _guess(self, word: str) -> frozenset[str]:
        shorter = (re.sub(r"(.)\1{2,}", r"\1\1", word), re.sub(r"(.)\1+", r"\1", word))
        for other in (
            *shorter,
            *without_ending(word),
            self._sounds.get(sound(word), ""),
        ):
            if other != word and (found := self._exactly(other)):
                return found
        return self._nearly(word)

    def _exactly(self, word: str) -> frozenset[str]:
        found = set(self._words.get(word, ()))
        for stem, name in self._stems.get(word[:_STEM_LETTERS], ()):
            if word.startswith(stem):
                found.add(name)
        return frozenset(found)

    def _nearly(self, word: str) -> frozenset[str]:
        if len(word) > _LONGEST_MISSPELT or not word.isalpha():
            return frozenset()
        if len(word) < _SHORTEST_MISSPELT:
            return self._short(word)
        slips = 2 if len(word) >= _LONG_WORD else 1
        near = nearly(word, about_as_long(word, self._whole, slips), slips)
        found = [(slip, whole) for slip, whole in near if not is_swapped_letter(word, whole)]
        for length in range(_SHORTEST_MISSPELT, len(word) + slips + 1):
            # A stem is compared with as much of the word as it is long.
            beginning, stems = word[:length], self._beginnings.get((word[0], length), ())
            found += [
                (slip, stem)
                for slip, stem in nearly(beginning, stems, slips)
                if not is_swapped_letter(beginning, stem)
            ]
        return self._exactly(min(found)[1]) if found else frozenset()

    def _short(self, word: str) -> frozenset[str]:
        """ "ags" as "gas", "stam" as "steam": letters changed about, or one left out."""
        for at in range(len(word) - 1):
            other = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
            if other in self._words:
                return self._exactly(other)
        left_out = nearly(word, self._whole.get((word[0], len(word) + 1), ()), 1)
        return self._exactly(left_out[0][1]) if left_out else frozenset()

    def spans(self, words: Sequence[str], at: int) -> Iterator[tuple[int, int, str, bool]]:
        """First and last token and concept of each form that begins at one; whether it is guessed."""
        named = self.of(words[at])
        for name in named.concepts:
            yield at, at, name, named.guessed
        if at + 1 < len(words) and (longer := self._phrases.get(words[at])):
            for second in (words[at + 1], "*"):
                for rest, name in longer.get(second, ()):
                    if _goes_on(words, at + 1, rest):
                        yield at, at + len(rest), name, False


def _goes_on(words: Sequence[str], at: int, rest: tuple[str, ...]) -> bool:
    if at + len(rest) > len(words):
        return False
    return all(
        words[at + i].startswith(part[:-1]) if part[-1] == "*" else words[at + i] == part
        for i, part in enumerate(rest)
    )
