"""Whether a text tells of something that threatens life, and what.

Theory of operation
-------------------
Who gets the "leave now" text is decided here and in ``listening``. Signs rest on folding, spelling and
their own tables only. Harmless phrases are blanked out first ("smoking hot"), phrases such as "won't
stop" are turned into what they mean, and then each danger's signs are looked for (``signs``): concepts
that stand together and are not denied. A sign counts unless something takes it back (``taken_back``), or
all that is said, weighed together, sounds harmless (``heeded``).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain

from rules.reading.danger_table import DangerKind, DangerTable, danger_table
from rules.reading.folding import Folded
from rules.reading.signs import Sign, compose, find
from rules.reading.taken_back import is_elsewhere, is_explained, is_over, is_taken_back
from rules.reading.tokens import Tokens

__all__ = ["Danger", "Heard", "hear", "heeded"]

_PATTERN = re.Pattern[str]


@dataclass(frozen=True, slots=True)
class Danger:
    """One danger and the characters of the original text that tell of it."""

    kind: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Heard:
    """The text as it is searched, its words, the dangers that signs tell of, and those that stand.

    ``at`` are the first and last characters of the told ones in ``plain``. ``explained`` says that the
    text gives a harmless cause of what may sound like one.
    """

    plain: Folded
    tokens: Tokens
    told: tuple[Danger, ...]
    at: tuple[tuple[int, int], ...]
    taken_back: bool
    explained: bool
    dangers: tuple[Danger, ...] = ()

    @property
    def is_only_explained(self) -> bool:
        """Whether what may sound like a danger has a harmless cause, and nothing else is one."""
        return self.explained and not self.dangers

    def sentence(self, start: int) -> str:
        """What is told together with the word at a character; nothing if that is all there is."""
        told = self.tokens.told_with(start)
        if len(told) == len(self.tokens.words):
            return ""
        return self.plain.text[self.tokens.starts[told[0]] : self.tokens.ends[told[-1]]]


def heeded(heard: Heard, *, loud: bool, is_loud_alone: Callable[[str], bool]) -> Heard:
    """A text with the dangers that stand, each at the first words that tell of it.

    ``loud`` says whether the whole text sounds like danger, ``is_loud_alone`` whether a sentence does.
    """
    if loud:
        return replace(heard, dangers=heard.told or _by_ear(heard))
    return replace(
        heard,
        dangers=tuple(
            danger
            for danger, (start, _) in zip(heard.told, heard.at, strict=True)
            if _is_plain(heard.plain.text, danger.kind)
            or ((sentence := heard.sentence(start)) and is_loud_alone(sentence))
        ),
    )


def _is_plain(text: str, kind: str) -> bool:
    """Whether a danger that a sign tells of is told in so many words: then the ear is not asked."""
    return any(pattern.search(text) for pattern in danger_table().kinds[kind].plainly)


def _by_ear(heard: Heard) -> tuple[Danger, ...]:
    rules, tokens = danger_table(), heard.tokens
    if is_over(heard.plain.text, rules):
        return ()
    kind = rules.ear.kind(tokens)
    first, last = rules.ear.place(tokens, kind)
    span = (tokens.starts[first], tokens.ends[last])
    row = rules.kinds.get(kind)
    if row is not None and _is_none(heard.plain.text, tokens, kind, row):
        return ()
    return (_danger(heard.plain, kind, span),)


def hear(folded: Folded) -> Heard:
    """A folded text searched for the signs of all dangers."""
    rules = danger_table()
    plain = _without_harmless(folded, rules)
    tokens = Tokens(plain, rules.concepts, rules.words)
    compose(tokens, rules.composed)
    likely = rules.signs.likely(tokens)
    found: list[Danger] = []
    places: list[tuple[int, int]] = []
    taken_back = False
    for kind, row in rules.kinds.items():
        standing = _standing(plain.text, tokens, likely.get(kind, ()), rules)
        hit = next(chain(standing, _said(plain.text, row)), None)
        if hit is None:
            continue
        if _is_none(plain.text, tokens, kind, row):
            taken_back = True
        else:
            found.append(_danger(plain, kind, hit))
            places.append(hit)
    explained = any(is_explained(tokens, row) for row in rules.kinds.values())
    return Heard(plain, tokens, tuple(found), tuple(places), taken_back, explained)


def _is_none(text: str, tokens: Tokens, kind: str, row: DangerKind) -> bool:
    """Whether the text itself says why what sounds like a danger of a kind is none."""
    return is_taken_back(text, kind, row, danger_table()) or is_explained(tokens, row)


def _danger(plain: Folded, kind: str, span: tuple[int, int]) -> Danger:
    return Danger(kind, plain.origin[span[0]], plain.origin[span[1] - 1] + 1)


def _without_harmless(folded: Folded, rules: DangerTable) -> Folded:
    plain = folded
    for pattern in rules.harmless:
        plain = _replaced(plain, pattern, "_")
    if rules.may_go_on.search(plain.text):
        for pattern, word in rules.goes_on:
            plain = _replaced(plain, pattern, word)
    return plain


def _replaced(folded: Folded, pattern: _PATTERN, word: str) -> Folded:
    """The text with every match replaced by ``word``, which keeps the place of the match."""
    text, done = "", 0
    origin: list[int] = []
    for match in pattern.finditer(folded.text):
        text += folded.text[done : match.start()] + word
        origin += folded.origin[done : match.start()] + (folded.origin[match.start()],) * len(word)
        done = match.end()
    return Folded(text + folded.text[done:], (*origin, *folded.origin[done:])) if done else folded


def _standing(
    text: str, tokens: Tokens, signs: Iterable[Sign], rules: DangerTable
) -> Iterator[tuple[int, int]]:
    """First and last character of the places where signs stand, here and not elsewhere."""
    for sign in signs:
        place = find(tokens, sign)
        if place is not None and not is_elsewhere(text, tokens, place[0], rules):
            yield tokens.starts[place[0]], tokens.ends[place[1]]


def _said(text: str, row: DangerKind) -> Iterator[tuple[int, int]]:
    for pattern in row.says:
        for match in pattern.finditer(text):
            yield match.span()
