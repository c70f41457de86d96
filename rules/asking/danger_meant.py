"""Danger that a few words tell only together with what was reported before.

Theory of operation
-------------------
Whoever reports a leak is told to leave if the water is near a light or plug, whoever has no heat if
they smell gas. The next text may be "it is near the outlet now" or "yes I smell it", which alone tell
no danger. Such a text is heard with what it is about. One that denies is not: our own sentence has
named the danger, and "no, not near a plug" answers it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from functools import cache

from rules.asking.short_words import plain
from rules.data import table
from rules.model import Kind
from rules.reading import danger_in

__all__ = ["danger_meant", "is_denied"]

_LONGEST = 300  # characters; whoever writes more says what it is about


def is_denied(text: str, kinds: Collection[Kind]) -> bool:
    """Whether a short text says no to the danger that our sentence about such a report names."""
    words = plain(text)
    short = len(words.split()) <= table("danger_meant")["longest_denial"] and not re.search(
        r"\d", words
    )
    if not short or not _says("denies").search(words):
        return False
    named = ["leak"] if Kind.LEAK in kinds else []
    named += ["smell"] if not _smelt_with().isdisjoint(kinds) else []
    return any(_says(about, "named").search(words) for about in named)


def danger_meant(text: str, kinds: Collection[Kind]) -> tuple[str, ...]:
    """The dangers of a text that tells none by itself, given what was reported; usually none."""
    words = plain(text)
    if not words or len(words) > _LONGEST or _says("denies").search(words):
        return ()
    rows = table("danger_meant")
    if Kind.LEAK in kinds and _says("leak", "where").search(words):
        return danger_in(rows["leak"]["heard_as"].format(text=text))
    smells = not _smelt_with().isdisjoint(kinds) and _says("smell", "says").search(words)
    return (str(rows["smell"]["means"]),) if smells else ()


def _smelt_with() -> frozenset[Kind]:
    return frozenset(Kind(kind) for kind in table("danger_meant")["smell"]["about"])


@cache
def _says(*path: str) -> re.Pattern[str]:
    found: object = table("danger_meant")
    for name in path:
        found = found[name] if isinstance(found, dict) else {}
    phrases: Iterable[object] = found if isinstance(found, list) else ()
    return re.compile(r"\b(" + "|".join(re.escape(str(phrase)) for phrase in phrases) + r")\b")
