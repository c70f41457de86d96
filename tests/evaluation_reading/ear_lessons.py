"""What labelled texts teach the ear: which of their clues are its own, and which danger they tell of."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rules.model import Kind
from rules.reading.danger_table import danger_table
from rules.reading.weights import DANGER, LABELS

from .hands import LINES, MESSAGES
from .reading_lessons import Lesson, lesson, name_of

__all__ = ["concepts_told", "is_danger", "kind_of_danger", "listened_to"]

_LINES = "lines"
# Whether these are dangers was set by their kind: that teaches kinds, but nothing about danger.
_NOT_HEARD = frozenset({"in_parts"})
_OF_SIGNS = re.compile("sign |taken back")
_OF_QUESTION = re.compile("[a-z_0-9]+: ")
_CONCEPT = re.compile("![A-Z]+[A-Z0-9]*")
_AT = {name_of(label): at for at, label in enumerate(LABELS)}
# Which danger a dangerous message with such a kind tells of; the first that fits.
_KINDS = (
    ({Kind.GAS_SMELL}, "gas"),
    ({Kind.CO_ALARM}, "co"),
    ({Kind.SMOKE}, "fire"),
    ({Kind.LEAK, Kind.ELECTRICAL}, "water_electrics"),
    ({Kind.ELECTRICAL}, "electrical"),
    ({Kind.TOO_COLD}, "hypothermia"),
    ({Kind.LEAK}, "scald"),
    ({Kind.OTHER}, "scald"),
)


def listened_to(lessons: Sequence[Lesson], folder: Path = MESSAGES) -> list[Lesson]:
    """The messages whose danger somebody has judged, and the two lists of lines, by the ear's clues.

    These are the words and the signs, not what was asked or what rules make of it all.
    """
    told = [x for x in lessons if x.hand not in _NOT_HEARD]
    for name, danger in LINES.items():
        lines = (folder / f"{name}.txt").read_text(encoding="utf-8").splitlines()
        told += [lesson(_LINES, line, None, {DANGER} if danger else set()) for line in lines]
    return [
        replace(
            x,
            words=Counter({c: n for c, n in x.words.items() if not _OF_QUESTION.match(c)}),
            rules=frozenset(filter(_OF_SIGNS.match, x.rules)),
        )
        for x in told
    ]


def is_danger(told: Lesson) -> bool:
    """Whether somebody judged it to be one."""
    return told.labels[_AT[DANGER]]


def concepts_told(told: Lesson) -> frozenset[str]:
    """The concepts of danger that are named and not denied."""
    return frozenset(clue[1:] for clue in told.words if _CONCEPT.fullmatch(clue))


def kind_of_danger(told: Lesson) -> str | None:
    """Which danger it tells of, by its kinds or else by the first of its signs."""
    kinds = {kind for kind in Kind if told.labels[_AT[kind.value]]}
    labelled = next((kind for labels, kind in _KINDS if labels <= kinds), None)
    by_sign = (kind for kind in danger_table().kinds if f"sign {kind}" in told.rules)
    return labelled or next(by_sign, None)
