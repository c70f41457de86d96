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

from rapidfuzz.distance import OSA

from rules.reading.spelling import is_swapped_letter, sound, without_ending
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
        # By the first two words; by the first and a star where the second is a stem.
        self._phrases: dict[tuple[str, str], list[tuple[tuple[str, ...], str]]] = defaultdict(list)
        for name, forms in raw.items():
            for form in (f.strip() for f in forms.split(",")):
                self._add(name, form)
        self._targets = self._by_first_letter()
        self._sounds = self._by_sound()
        self.of = lru_cache(maxsize=8192)(self._of)

    def _add(self, name: str, form: str) -> None:
        parts = tuple(form.split())
        if len(parts) > 1:
            first = parts[0]
            if first.endswith("*"):
                raise ValueError(f"a form of several words begins with a stem: {form}")
            second = "*" if parts[1].endswith("*") else parts[1]
            self._phrases[first, second].append((parts[1:], name))
        elif form.endswith("*"):
            self._stems[form[:_STEM_LETTERS]].append((form[:-1], name))
        elif form:
            self._words[form].add(name)

    def _by_first_letter(self) -> dict[str, tuple[tuple[str, bool], ...]]:
        found: dict[str, set[tuple[str, bool]]] = defaultdict(set)
        stems = {stem for listed in self._stems.values() for stem, _ in listed}
        for word in {*self._words, *stems}:
            if len(word) >= _SHORTEST_MISSPELT and word.isalpha():
                found[word[0]].add((word, word in stems))
        return {letter: tuple(sorted(words)) for letter, words in found.items()}

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
        best = ""
        for target, is_stem in self._targets.get(word[0], ()):
            # A stem is compared with as much of the word as it is long.
            written = word[: len(target)] if is_stem else word
            if abs(len(target) - len(written)) <= slips:
                distance = OSA.distance(written, target, score_cutoff=slips)
                if distance <= slips and not is_swapped_letter(written, target):
                    best, slips = target, distance - 1
        return self._exactly(best) if best else frozenset()

    def _short(self, word: str) -> frozenset[str]:
        """ "ags" as "gas", "stam" as "steam": letters changed about, or one left out."""
        for at in range(len(word) - 1):
            other = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
            if other in self._words:
                return self._exactly(other)
        for target, is_stem in self._targets.get(word[0], ()):
            one_more = len(target) == len(word) + 1 and not is_stem
            if one_more and OSA.distance(word, target, score_cutoff=1) == 1:
                return self._exactly(target)
        return frozenset()

    def spans(self, words: Sequence[str], at: int) -> Iterator[tuple[int, str, bool]]:
        """Last token and concept of every form that begins at a token, and whether it is guessed."""
        named = self.of(words[at])
        for name in named.concepts:
            yield at, name, named.guessed
        if at + 1 < len(words):
            for second in (words[at + 1], "*"):
                for rest, name in self._phrases.get((words[at], second), ()):
                    if _goes_on(words, at + 1, rest):
                        yield at + len(rest), name, False


def _goes_on(words: Sequence[str], at: int, rest: tuple[str, ...]) -> bool:
    if at + len(rest) > len(words):
        return False
    return all(
        words[at + i].startswith(part[:-1]) if part[-1] == "*" else words[at + i] == part
        for i, part in enumerate(rest)
    )
