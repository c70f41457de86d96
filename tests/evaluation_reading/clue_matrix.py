"""Clues of texts as a matrix: what is found everywhere, and what says little anew, counts less."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix, diags, hstack

from .logistic import Floats, known_clues, matrix
from .reading_lessons import Lesson

__all__ = ["Laid", "laid_out"]

_SEEN_AT_LEAST = 3
# A pair of clues, some letters of a word, and what rules find say less anew than a word does; what they
# find of a slot is as good as one.
_LESS = 0.5


@dataclass(frozen=True)
class Laid:
    """A row for each text, a column for each clue of words, then of rules, and what each counts."""

    words: Sequence[str]
    rules: Sequence[str]
    clues: csr_matrix
    values: Floats


def laid_out(lessons: Sequence[Lesson]) -> Laid:
    """The clues of lessons that several of them have."""
    words = known_clues((x.words for x in lessons), _SEEN_AT_LEAST)
    rules = known_clues((x.rules for x in lessons), _SEEN_AT_LEAST)
    of_words = matrix([x.words for x in lessons], words, _value_of_words)
    of_rules = matrix([x.rules for x in lessons], rules, _value_of_rules)
    clues = hstack([of_words, of_rules]).tocsr()
    rare = _rare(clues)
    values = np.array([*map(_value_of_words, words), *map(_value_of_rules, rules)]) * rare
    return Laid(words, rules, (clues @ diags(rare)).tocsr(), values)


def _rare(clues: csr_matrix) -> Floats:
    """What each clue counts for by how few texts have it: what is found everywhere tells least.

    The logarithm of one over the share of texts (inverse document frequency, a textbook's); a clue that
    is rarer than half of all counts no more than those.
    """
    seen = np.diff(clues.tocsc().indptr)
    told = np.log(clues.shape[0] / np.maximum(seen, 1))
    rare: Floats = np.minimum(1.0, told / np.median(told))
    return rare


def _value_of_words(clue: str) -> float:
    alone = " " not in clue.removeprefix("!not ") and clue[0] != "~"
    return 1.0 if alone else _LESS


def _value_of_rules(clue: str) -> float:
    return 1.0 if clue.startswith("is ") else _LESS
