"""What each word of a text is to every section of phrases, by one look at the word.

Theory of operation
-------------------
Many sections look at the same words. A word is looked up once, for the marks that it has alone in each
of them and for the words that make a longer phrase with it somewhere. Only where one may begin in a
section, or a number stands, that section looks at the word in its place (``marks``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from rules.reading.marks import NOTHING, Mark, Marks
from rules.reading.words import Words

__all__ = ["Lexicon"]


class _Known(NamedTuple):
    """The marks of a word alone, section by section; by second word, the sections of longer phrases."""

    alone: tuple[Mark, ...]
    longer: Mapping[str, frozenset[str]]


class _Looked(NamedTuple):
    """A text by section: the marks of its words alone; where longer phrases may begin."""

    alone: Mapping[str, tuple[Mark, ...]]
    begun: Mapping[str, list[int]]


class Lexicon:
    """The words that any section knows."""

    def __init__(self, sections: Mapping[str, Marks]) -> None:
        self._sections = sections
        longer: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
        for name, marks in sections.items():
            for first, second in marks.beginnings:
                longer[first][second].add(name)
        self._words = {
            word: _Known(
                tuple(marks.alone.get(word, NOTHING) for marks in sections.values()),
                {second: frozenset(names) for second, names in longer.get(word, {}).items()},
            )
            for word in {word for marks in sections.values() for word in marks.alone}
        }
        self._nothing = _Known((NOTHING,) * len(sections), {})

    def row(self, section: str, words: Words) -> Sequence[Mark]:
        """The row of longest phrases that the words make to a section."""
        looked = words.once(self._look)
        alone, begun = looked.alone[section], looked.begun.get(section)
        if not begun and not words.numbers:
            return alone
        marks = self._sections[section]
        row: list[Mark] = []
        done = 0
        for at in sorted({*words.numbers, *(begun or ())}):
            if at >= done:
                mark = marks.mark_at(words, at)
                row += (*alone[done:at], mark)
                done = at + mark.length
        return [*row, *alone[done:]]

    def _look(self, words: Words) -> _Looked:
        known = [self._words.get(text, self._nothing) for text in words.texts]
        begun: dict[str, list[int]] = defaultdict(list)
        for at, (word, second) in enumerate(zip(known, words.texts[1:], strict=False)):
            for name in word.longer.get(second, ()):
                begun[name].append(at)
        columns = (
            zip(*[word.alone for word in known], strict=True)
            if known
            else ((),) * len(self._sections)
        )
        return _Looked(dict(zip(self._sections, columns, strict=True)), begun)
