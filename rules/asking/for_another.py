"""What a phone on file tells of another home, for whoever lives there, or of having left its own.

Theory of operation
-------------------
"My neighbor in 3B has no heat" is no report of the home that the phone is on file for, and no report of
3B either: whoever lives there has not said so. A person sees to it. Only where the trouble is told of
the neighbor is it the neighbor's: beside "no heat, the neighbor upstairs is fine" it is the sender's,
and so it is wherever in doubt, as with whoever speaks of the own home as well ("she has none either").
A relative counts as another home only beside a door that is not the phone's own: she may live here. Of
whom the superintendent, or somebody who was called, writes are the doors that are named.
"""

from __future__ import annotations

import re
from functools import cache

from rules.asking.short_words import plain
from rules.data import table

__all__ = ["has_moved_out", "is_for_another"]

_MOST_BETWEEN = 7  # words from somebody to what they lack


def is_for_another(text: str, *, other_door: bool) -> bool:
    """Whether all trouble in a text is another home's.

    Args:
        text: what somebody wrote whose phone is on file.
        other_door: whether it names an apartment that is not the phone's own.
    """
    words = plain(text)
    if "?" in text or _says("own_too").search(words):
        return False
    who = ("another", "relative") if other_door else ("another",)
    if other_door and _says("speaks_for").search(words):
        who = (*who, "doors")
    return any(_is_theirs(words, name) for name in who)


def _is_theirs(words: str, who: str) -> bool:
    """Whether the trouble is told of somebody, and none before that."""
    somebody = _says(who).search(words)
    if somebody is None:
        return False
    if _lacking(who, at=True).search(words):
        return True
    return not _lacks().search(words[: somebody.start()]) and bool(_lacking(who).search(words))


def has_moved_out(text: str) -> bool:
    """Whether the sender does not live there any more, or is about to leave."""
    return _says("moved_out").search(plain(text)) is not None


@cache
def _lacks() -> re.Pattern[str]:
    """What somebody lacks."""
    rows = table("short_words")
    forms = (form.format(word=_of_them()) for form in rows["another_lacks"])
    return re.compile(rf"\b(?:{'|'.join(forms)})\b")


@cache
def _lacking(who: str, *, at: bool = False) -> re.Pattern[str]:
    """Somebody and what they lack; with ``at``, what is lacked where they are."""
    rows = table("short_words")
    somebody, lacks = rows[who], _lacks().pattern
    if at:
        return re.compile(rf"{lacks}(?: {_of_them()}){{0,2}}? {rows['another_at']} {somebody}")
    between = rf"(?: (?:{rows['another_says']}|{_of_them()})){{0,{_MOST_BETWEEN}}}?"
    return re.compile(rf"{somebody}{between} {lacks}")


def _of_them() -> str:
    """A word that may still be of somebody else."""
    return rf"(?!(?:{table('short_words')['elsewhere']})\b)\w+"


@cache
def _says(name: str) -> re.Pattern[str]:
    rows = table("short_words")[name]
    return re.compile(rows if isinstance(rows, str) else "|".join(f"(?:{one})" for one in rows))
