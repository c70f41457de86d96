"""Which of the dangers that a text tells of stand: signs, and how loud it is, weighed together.

Theory of operation
-------------------
A sign counts where the whole text is loud enough (``ear``), or else the sentence of the sign by itself:
what is harmless elsewhere in a text hides no danger. Of what is told plainly ("there is smoke") it is
not asked. Where no sign stands, a loud text alone decides. What was asked makes no difference, nor what
rules make of a text: ``danger_in`` rests on words and signs alone.
"""

from __future__ import annotations

from collections.abc import Sequence

from rules.reading.clues import clues_of_signs, clues_of_words, spoken_in
from rules.reading.danger import Heard, hear, heeded
from rules.reading.danger_table import danger_table
from rules.reading.ear import loudness
from rules.reading.folding import fold
from rules.reading.politeness import without_politeness
from rules.reading.weights import sum_of_danger, weights
from rules.reading.words import Words, words_of

__all__ = ["danger_in", "listened"]


def danger_in(text: str) -> tuple[str, ...]:
    """The dangers a text tells of, each once, in the order of the table."""
    folded = fold(text)
    heard, words = hear(folded), without_politeness(words_of(folded))
    dangers = listened(heard, words, _sums(heard, words)).dangers
    return tuple(dict.fromkeys(danger.kind for danger in dangers))


def listened(heard: Heard, words: Words, sums: Sequence[int] | None) -> Heard:
    """The text with the dangers that stand; ``sums`` is what speaks for each label, if any word does."""
    loud = sums is not None and _is_loud(heard, words, sums)
    return heeded(heard, loud=loud, is_loud_alone=_is_loud_alone)


def _is_loud(heard: Heard, words: Words, sums: Sequence[int]) -> bool:
    loud = loudness(sum_of_danger(sums), len(spoken_in(words)))
    return danger_table().ear.is_danger(loud, heard.tokens, by_sign=bool(heard.told))


def _is_loud_alone(sentence: str) -> bool:
    """Whether a sentence would be a danger if it were the whole text."""
    folded = fold(sentence)
    heard, words = hear(folded), without_politeness(words_of(folded))
    sums = _sums(heard, words)
    return sums is not None and _is_loud(heard, words, sums)


def _sums(heard: Heard, words: Words) -> tuple[int, ...] | None:
    """What speaks for each label, by words and signs alone."""
    if not words:
        return None
    of_signs = set(clues_of_signs(heard.told, taken_back=heard.taken_back))
    return weights().sums(set(spoken_in(words)), clues_of_words(words, heard.tokens), of_signs)
