"""What somebody asks or tells beside the trouble, and which sentence of ours answers it.

Theory of operation
-------------------
"Can I bleed it myself?", "what does it cost?", "who is this?" want an answer whatever else is going on,
and change nothing: the sentence is said first, and what was asked stays asked (``asides.yaml``). What
somebody must not do comes before all. Words of such a question answer none of ours: "should I take the
cover off" does not say that a screen is off.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from rules.asking.short_words import plain
from rules.data import table

__all__ = ["asides_in", "asks_of_its_own"]


@dataclass(frozen=True, slots=True)
class _Aside:
    """One row: what the words of a text must be."""

    says: re.Pattern[str]
    also: re.Pattern[str] | None
    unless: re.Pattern[str] | None
    whole: bool
    to_question: bool
    asks: bool

    def is_in(self, words: str) -> bool:
        """Whether these plain words are it."""
        found = self.says.fullmatch(words) if self.whole else self.says.search(words)
        if found is None or (self.unless is not None and self.unless.search(words)):
            return False
        return self.also is None or self.also.search(words) is not None


def asides_in(text: str, *, asked: bool) -> tuple[str, ...]:
    """The sentences (keys of the sayings) that answer what a text asks or tells in passing.

    Args:
        text: what somebody wrote; nothing at all is a picture.
        asked: whether a question of ours is out.
    """
    words = plain(text)
    if not text.strip():
        return ("picture",)
    rows = _asides().items()
    return tuple(k for k, row in rows if (asked or not row.to_question) and row.is_in(words))


def asks_of_its_own(text: str) -> bool:
    """Whether a text, or a part of one, asks or tells what answers no question of ours."""
    words = plain(text)
    return any(row.asks and row.is_in(words) for row in _asides().values())


@cache
def _asides() -> Mapping[str, _Aside]:
    return MappingProxyType({key: _aside(**row) for key, row in table("asides").items()})


def _aside(
    says: list[str],
    mine: Sequence[str] = (),
    me: str = "",
    unless: str | None = None,
    *,
    whole: bool = False,
    to_question: bool = False,
    asks: bool = False,
    **more: str,
) -> _Aside:
    also = more.get("with")
    says = [*(rf"{me} {one}" for one in mine), *says]
    return _Aside(
        says=re.compile("|".join(f"(?:{one})" for one in says)),
        also=None if also is None else re.compile(also),
        unless=None if unless is None else re.compile(unless),
        whole=whole,
        to_question=to_question,
        asks=asks,
    )
