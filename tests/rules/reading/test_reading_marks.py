"""The short way to the marks of a text leads to the same as looking at every word in its place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.data import table
from rules.reading.folding import fold
from rules.reading.marks import Mark
from rules.reading.phrases import section
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Words, words_of

_SECTIONS = [name for name, part in table("phrases").items() if "phrases" in part]
_PHRASES = sorted(" ".join(p) for phrases in vocabulary().classes.values() for p in phrases)
_ODD = ["62", "one", "diez y", "but", "zzz", ".", ",", "?", "\n"]
_SCRAPS = st.one_of(st.sampled_from(_PHRASES), st.sampled_from(_ODD))


def _word_by_word(name: str, words: Words) -> list[Mark]:
    marks, index = list[Mark](), 0
    while index < len(words):
        marks.append(section(name).marks.mark_at(words, index))
        index += marks[-1].length
    return marks


@pytest.mark.parametrize("name", _SECTIONS)
@given(scraps=st.lists(_SCRAPS, max_size=12))
def test_the_row_is_what_each_word_is_in_its_place(name: str, scraps: list[str]) -> None:
    """Phrases, their beginnings without their ends, numbers and breaks, in any order."""
    words = words_of(fold(" ".join(scraps)))
    assert list(section(name).row(words)) == _word_by_word(name, words)
