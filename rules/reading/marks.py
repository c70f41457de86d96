"""What a word, or the longest phrase that begins with it, is to a section of phrases.

Theory of operation
-------------------
A section of phrases knows classes of words and single words by signs. Nearly every word of a text is
alone in being something to a section, or is nothing to it; such words are looked up and done
(``lexicon``). Only a number, and a word that begins a longer phrase with the one after it, need to be
looked at in place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import NamedTuple

from rules.reading.notation import END, STRONG, WEAK
from rules.reading.vocabulary import Phrase, vocabulary
from rules.reading.words import STRONG_BREAKS, WEAK_BREAKS, Sort, Words

__all__ = ["NOTHING", "Mark", "Marks"]


class Mark(NamedTuple):
    """What the words at a place are to a section: their signs, and how many words they are.

    ``reach`` is how many words the longest phrase reaches that hides none of them.
    """

    signs: str
    length: int
    reach: int


NOTHING = Mark(END, 1, 1)


@dataclass(frozen=True, slots=True)
class _Known:
    """What a phrase of words is to a section, and whether it hides the shorter ones in it."""

    signs: str
    length: int
    hides: bool


class Marks:
    """The words and phrases that a section knows.

    ``signs`` are those of its classes, ``literals`` those of words that it names itself, ``see_through``
    the classes of which a longer phrase hides no shorter one.
    """

    def __init__(
        self,
        signs: Mapping[str, str],
        literals: Mapping[str, str],
        see_through: AbstractSet[str],
    ) -> None:
        self._number, self._count = signs.get("NUM", ""), signs.get("COUNT", "")
        hiding = frozenset(sign for name, sign in signs.items() if name not in see_through)
        self._phrases = _index(signs, literals, hiding)
        self._lengths = self._lengths_by_first_word()
        self._breaks = _breaks()
        # The marks of words alone, and the first two words of longer phrases.
        self.alone = {
            word: self._mark([word], 0, self._count if word in vocabulary().numbers else "")
            for word in (*self._lengths, *vocabulary().numbers)
        } | self._breaks
        self.beginnings = frozenset(
            phrase[:2]
            for phrase in self._phrases
            if len(phrase) > 1 and phrase[0] not in self._breaks
        )

    def mark_at(self, words: Words, index: int) -> Mark:
        """What a word of a text is in its place."""
        word = words[index]
        if word.sort is Sort.NUMBER:
            return self._mark(words.texts, index, self._number)
        if word.text in self._breaks:
            return self._breaks[word.text]
        return self._mark(words.texts, index, self._count if word.value is not None else "")

    def _mark(self, texts: list[str], index: int, number: str) -> Mark:
        """The longest phrase at a place, with the ``number`` sign if it is but one word."""
        through, reach = "", 1
        for length in self._lengths.get(texts[index], ()):
            known = self._phrases.get(tuple(texts[index : index + length]))
            if known is None or known.length < length:
                continue
            if not known.hides:
                through += known.signs
                reach = max(reach, length)
                continue
            if length == 1:
                through += number
            return Mark(known.signs + through + END, length, max(reach, length))
        return Mark(through + number + END, 1, reach)

    def _lengths_by_first_word(self) -> dict[str, tuple[int, ...]]:
        lengths: dict[str, set[int]] = defaultdict(set)
        for phrase in self._phrases:
            lengths[phrase[0]].add(len(phrase))
        return {word: tuple(sorted(found, reverse=True)) for word, found in lengths.items()}


def _index(
    signs: Mapping[str, str], literals: Mapping[str, str], hiding: AbstractSet[str]
) -> dict[Phrase, _Known]:
    told: dict[Phrase, str] = defaultdict(str)
    classes = vocabulary().classes
    for name, sign in signs.items():
        for phrase in classes.get(name, ()):
            told[phrase] += sign
    for literal, sign in literals.items():
        told[tuple(literal.split("_"))] += sign
    return {
        phrase: _Known(found, len(phrase), len(phrase) == 1 or not hiding.isdisjoint(found))
        for phrase, found in told.items()
    }


def _breaks() -> dict[str, Mark]:
    weak = dict.fromkeys((*WEAK_BREAKS, *vocabulary().turns), Mark(WEAK, 1, 1))
    return weak | dict.fromkeys((*STRONG_BREAKS, "\n"), Mark(STRONG, 1, 1))
