"""A text as a row of words: misspellings mended, number words counted, sentences kept apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar

from rules.reading.folding import Folded
from rules.reading.spelling import nearest_known
from rules.reading.vocabulary import vocabulary

__all__ = ["STRONG_BREAKS", "WEAK_BREAKS", "Sort", "Word", "Words", "words_of"]

T = TypeVar("T")

STRONG_BREAKS = frozenset(".!?;…¡¿|")
WEAK_BREAKS = frozenset(',:()[]{}"“”«»')
# A number word from here on counts as a number; smaller ones are words too ("one room").
_FIRST_NUMBER_WORD = 13
_SHORTEST_GLUED = 8


class Sort(StrEnum):
    """What a piece of text is."""

    WORD = "word"
    NUMBER = "number"
    WEAK_BREAK = "weak_break"
    STRONG_BREAK = "strong_break"


# Not frozen: there are many in a text, and a frozen one takes three times as long to make.
@dataclass(slots=True)
class Word:
    """One word, number or break; ``start`` and ``end`` are indices into the original text."""

    text: str
    sort: Sort
    start: int
    end: int
    value: float | None = None
    glued: bool = False
    written: str = ""


class Words(list[Word]):
    """The words of a text, and what was once found out about them."""

    def __init__(self, words: Iterable[Word]) -> None:
        super().__init__(words)
        self.texts = [word.text for word in self]
        # Where the numbers stand.
        self.numbers = [at for at, word in enumerate(self) if word.sort is Sort.NUMBER]
        self._known: dict[Callable[[Words], Any], Any] = {}

    def once(self, look: Callable[[Words], T]) -> T:
        """What a look at the words yields; they are looked at once."""
        if look not in self._known:
            self._known[look] = look(self)
        found: T = self._known[look]
        return found


def words_of(folded: Folded) -> Words:
    """The words of folded text; number words of several parts become one number."""
    found: list[Word] = []
    last_end = 0
    for match in folded.pieces:
        between = folded.text[last_end : match.start()]
        start, end = folded.origin[match.start()], folded.origin[match.end() - 1] + 1
        if "\n" in between and found:
            found.append(Word("\n", Sort.STRONG_BREAK, start, start))
        glued = not between and bool(found)
        if glued and _is_abbreviation(found[-1], folded.text[match.start() :]):
            last_end = match.end()
            continue
        word = _word(match.group(), start, end, glued)
        if word is not None and word.sort is Sort.NUMBER:
            word = _with_sign(word, found, folded.text, match.start())
        if word is not None:
            found.append(word)
        last_end = match.end()
    return Words(_counted(found))


def _is_abbreviation(word: Word, rest: str) -> bool:
    """The point of "no. 1" and "apt. 4" ends no sentence."""
    return (
        rest[0] == "."
        and word.text in vocabulary().abbreviations
        and rest[1:3].lstrip()[:1].isdigit()
    )


def _word(piece: str, start: int, end: int, glued: bool) -> Word | None:
    if ":" in piece[1:]:
        # The time of day is no number to compare with a temperature or an age.
        return Word(piece, Sort.WORD, start, end, None, glued, piece)
    if piece[0].isdecimal():
        number = (
            piece.replace(",", ".")
            if _is_decimal(piece)
            else piece.replace(",", "").replace(".", "")
        )
        value = float(number) if len(number) <= 12 else None
        return Word(piece, Sort.NUMBER, start, end, value, glued, piece)
    if piece[0].isalpha():
        text, sort, value = _letters(piece, glued)
        return Word(text, sort, start, end, value, glued, piece)
    if piece in STRONG_BREAKS:
        return Word(piece, Sort.STRONG_BREAK, start, end)
    if piece in WEAK_BREAKS or (piece == "+" and not glued):
        # "Leak + no heat", but not "80+".
        return Word("," if piece == "+" else piece, Sort.WEAK_BREAK, start, end)
    if piece in vocabulary().known or piece in "#%$°":
        return Word(piece, Sort.WORD, start, end, None, glued, piece)
    return None


@lru_cache(maxsize=8192)
def _letters(piece: str, glued: bool) -> tuple[str, Sort, float | None]:
    """The word that letters are meant for, or the number."""
    plain = piece.replace(".", "")
    value = _glued_number(plain)
    if value is not None:
        return f"{value:g}", Sort.NUMBER, value
    text = nearest_known(plain if glued else vocabulary().aliases.get(plain, plain))
    return text, Sort.WORD, vocabulary().numbers.get(text)


def _glued_number(word: str) -> float | None:
    """ "sixtytwo", "sesentaidos", "cincuentayocho": a ten and a unit written as one word."""
    numbers = vocabulary().numbers
    if word in numbers or len(word) < _SHORTEST_GLUED:
        return None
    for at in range(4, len(word) - 2):
        ten, unit = numbers.get(word[:at], 0), numbers.get(word[at:].removeprefix("i"), 0)
        unit = unit or numbers.get(word[at:].removeprefix("y"), 0)
        if 20 <= ten <= 90 and 1 <= unit <= 9:
            return float(ten + unit)
    return None


def _is_decimal(piece: str) -> bool:
    return len(piece.replace(",", ".").rpartition(".")[2]) < 3


def _with_sign(word: Word, before: Sequence[Word], text: str, at: int) -> Word:
    """A minus sign counts only where it cannot be a hyphen: after a space or at the beginning."""
    minus_word = bool(before) and before[-1].text in vocabulary().minus
    minus_sign = at > 0 and text[at - 1] == "-" and (at == 1 or text[at - 2].isspace())
    if word.value is None or not (minus_word or minus_sign):
        return word
    return Word(word.text, word.sort, word.start, word.end, -word.value, word.glued, word.written)


def _counted(words: Sequence[Word]) -> list[Word]:
    """Join "sixty two" and "sesenta y dos"; make big number words numbers."""
    if all(word.value is None for word in words):
        return list(words)
    joiners = vocabulary().joiners
    found: list[Word] = []
    index = 0
    while index < len(words):
        word, taken = words[index], 1
        if word.sort is Sort.WORD and word.value is not None and _begins_number(words, index):
            value = word.value
            unit_at = index + 2 if _text(words, index + 1) in joiners else index + 1
            unit = _unit(words, unit_at)
            if value % 10 == 0 and value < 100 and unit is not None:
                value, taken = value + unit, unit_at - index + 1
            end = words[index + taken - 1].end
            word = Word(f"{value:g}", Sort.NUMBER, word.start, end, value, word.glued, word.written)
        if word.sort is Sort.NUMBER and (half := _half_after(words, index + taken)):
            end, value = words[index + taken + half - 1].end, (word.value or 0.0) + 0.5
            word = Word(f"{value:g}", Sort.NUMBER, word.start, end, value, word.glued, word.written)
            taken += half
        found.append(word)
        index += taken
    return found


def _half_after(words: Sequence[Word], index: int) -> int:
    """How many words say "and a half" here: "20 y medio", "sixty one and a half"."""
    said = tuple(word.text for word in words[index : index + 3])
    return next((len(half) for half in vocabulary().halves if said[: len(half)] == half), 0)


def _begins_number(words: Sequence[Word], index: int) -> bool:
    """A big number word, or the ten of "diez y ocho"."""
    value = words[index].value or 0.0
    joined = _text(words, index + 1) in vocabulary().joiners
    return value >= _FIRST_NUMBER_WORD or (
        value == 10 and joined and (_unit(words, index + 2) or 0) > 5
    )


def _text(words: Sequence[Word], index: int) -> str:
    return words[index].text if index < len(words) else ""


def _unit(words: Sequence[Word], index: int) -> float | None:
    if index >= len(words) or words[index].sort is not Sort.WORD:
        return None
    value = words[index].value
    return value if value is not None and 1 <= value <= 9 else None
