"""A text as a row of marks: what each word, or the longest phrase that begins with it, is to a section.

Theory of operation
-------------------
A section of phrases knows classes of words and single words by signs. Nearly every word of a text is
alone in being something to a section, or is nothing to it; such words are looked up and done. Only a
number, a word that also counts, and the first word of a longer phrase need to be looked at in place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import NamedTuple

from rules.reading.notation import END, STRONG, WEAK
from rules.reading.vocabulary import Phrase, vocabulary
from rules.reading.words import STRONG_BREAKS, WEAK_BREAKS, Sort, Word

__all__ = ["Mark", "Marks"]


class Mark(NamedTuple):
    """What the words at a place are to a section: their signs, and how many words they are.

    ``reach`` is how many words the longest phrase reaches that hides none of them.
    """

    signs: str
    length: int
    reach: int


_NOTHING = Mark(END, 1, 1)
# Stands for every number where words are looked up.
_NUMBER = "0"
# Numbers are always looked at in place.
_NUMBERS: tuple[frozenset[str], Mark | None] = (frozenset(), None)


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
        self._signs = signs
        self._hiding = frozenset(s for name, s in signs.items() if name not in see_through)
        self._phrases = self._index(literals)
        self._lengths = self._lengths_by_first_word()
        self._firsts = self._first_words()
        # None for a word that has to be looked at in place.
        self._alone = self._alone_or_not()

    def row(self, words: Sequence[Word]) -> list[Mark]:
        """The row of longest phrases that the words make."""
        alone = self._alone
        found = [
            alone.get(_NUMBER if word.sort is Sort.NUMBER else word.text, _NOTHING)
            for word in words
        ]
        texts = [*[word.text for word in words], ""]
        marks: list[Mark] = []
        free = 0
        for index, at_once in enumerate(found):
            if index < free:
                continue
            mark = at_once
            if mark is None:
                seconds, mark = self._firsts.get(texts[index], _NUMBERS)
                if mark is None or texts[index + 1] in seconds:
                    mark = self.mark_at(words[index], texts, index)
                    free = index + mark.length
            marks.append(mark)
        return marks

    def first_words_of(self, signs: AbstractSet[str]) -> frozenset[str]:
        """The words with which the phrases begin that have one of the signs."""
        return frozenset(
            phrase[0]
            for phrase, known in self._phrases.items()
            if not signs.isdisjoint(known.signs)
        )

    def mark_at(self, word: Word, texts: Sequence[str], index: int) -> Mark:
        """What a word of a text is in its place; ``row`` comes to the same by a shorter way."""
        number, through, reach = self._number_sign(word), "", 1
        for length in self._lengths.get(word.text, ()):
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

    def _number_sign(self, word: Word) -> str:
        if word.sort is Sort.NUMBER:
            return self._signs.get("NUM", "")
        return self._signs.get("COUNT", "") if word.value is not None else ""

    def _index(self, literals: Mapping[str, str]) -> dict[Phrase, _Known]:
        signs: dict[Phrase, str] = defaultdict(str)
        classes = vocabulary().classes
        for name, sign in self._signs.items():
            for phrase in classes.get(name, ()):
                signs[phrase] += sign
        for literal, sign in literals.items():
            signs[tuple(literal.split("_"))] += sign
        return {
            phrase: _Known(
                found,
                len(phrase),
                len(phrase) == 1 or bool(self._hiding.intersection(found)),
            )
            for phrase, found in signs.items()
        }

    def _lengths_by_first_word(self) -> dict[str, tuple[int, ...]]:
        lengths: dict[str, set[int]] = defaultdict(set)
        for phrase in self._phrases:
            lengths[phrase[0]].add(len(phrase))
        return {word: tuple(sorted(found, reverse=True)) for word, found in lengths.items()}

    def _first_words(self) -> dict[str, tuple[frozenset[str], Mark | None]]:
        """What may follow the first word of a longer phrase, and what it is if nothing of that does."""
        seconds: dict[str, set[str]] = defaultdict(set)
        for phrase in self._phrases:
            if len(phrase) > 1:
                seconds[phrase[0]].add(phrase[1])
        return {
            word: (frozenset(found), self._of_word(word))
            for word, found in seconds.items()
            if word not in vocabulary().numbers and not word[0].isdecimal()
        }

    def _of_word(self, word: str) -> Mark:
        known = self._phrases.get((word,))
        return _NOTHING if known is None else Mark(known.signs + END, 1, 1)

    def _alone_or_not(self) -> dict[str, Mark | None]:
        alone: dict[str, Mark | None] = {word: self._of_word(word) for word in self._lengths}
        alone |= dict.fromkeys((_NUMBER, *vocabulary().numbers, *self._firsts))
        alone |= dict.fromkeys((*WEAK_BREAKS, *vocabulary().turns), Mark(WEAK, 1, 1))
        return alone | dict.fromkeys((*STRONG_BREAKS, "\n"), Mark(STRONG, 1, 1))
