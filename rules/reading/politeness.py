"""Greeting and thanks, which change nothing of what a text says."""

from __future__ import annotations

from rules.reading.phrases import section
from rules.reading.words import Sort, Words

__all__ = ["without_politeness"]

_QUESTION_MARKS = frozenset("?¿!")
_SPOKEN = (Sort.WORD, Sort.NUMBER)


def without_politeness(words: Words) -> Words:
    """The words without greeting before and thanks after them; of nothing else, nothing is left."""
    seen = section("politeness")
    line = seen.line(words)
    polite = {
        index for found in line.find(seen["polite"]) for index in range(found.first, found.last + 1)
    }
    idle = [word.sort not in _SPOKEN or index in polite for index, word in enumerate(words)]
    if all(idle):
        return words if not polite else Words(())
    first, end = idle.index(False), len(idle) - idle[::-1].index(False)
    # The question mark belongs to what was said before it.
    while end < len(words) and words[end].text in _QUESTION_MARKS:
        end += 1
    return words if (first, end) == (0, len(words)) else Words(words[first:end])
