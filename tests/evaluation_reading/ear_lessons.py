"""What labelled texts teach the ear: their clues, their signs, and whether they are dangers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rules.model import Kind
from rules.reading.danger import hear
from rules.reading.danger_table import danger_table
from rules.reading.ear import clues
from rules.reading.folding import fold

from .hands import HANDS, LINES, MESSAGES, rows_of

__all__ = ["Lesson", "lesson", "lessons_of"]

_LINES = "lines"
# Whether these are dangers was set by their kind: that teaches kinds, but nothing about danger.
_NOT_HEARD = frozenset({"in_parts"})
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


@dataclass(frozen=True)
class Lesson:
    """The clues of a message, its concepts, its signs, and what it is: a danger, of a kind.

    ``alone`` are, for each sign, the clues of its own sentence.
    """

    hand: str
    clues: frozenset[str]
    concepts: frozenset[str]
    signs: frozenset[str]
    alone: tuple[tuple[str, frozenset[str]], ...]
    danger: bool
    kind: str | None


def lesson(hand: str, text: str, *, danger: bool, kinds: Sequence[str] = ()) -> Lesson:
    """What a labelled text teaches; without kinds, the signs in it say what danger it is."""
    heard = hear(fold(text))
    tokens, unweighed = heard.tokens, danger_table().ear.unweighed
    labelled = next((kind for labels, kind in _KINDS if labels <= set(kinds)), None)
    by_sign = heard.told[0].kind if heard.told else None
    return Lesson(
        hand=hand,
        clues=frozenset(clues(tokens, unweighed)),
        concepts=frozenset(tokens.told()),
        signs=heard.signs,
        alone=tuple(
            (told.kind, frozenset(clues(tokens, unweighed, tokens.told_with(start))))
            for told, (start, _) in zip(heard.told, heard.at, strict=True)
        ),
        danger=danger,
        kind=(labelled or by_sign) if danger else None,
    )


def lessons_of(folder: Path = MESSAGES) -> list[Lesson]:
    """The messages of a folder whose danger somebody has judged, and its two lists of single lines."""
    told = [
        lesson(hand, row["text"], danger=row["danger"], kinds=row["kinds"])
        for hand in HANDS
        if hand not in _NOT_HEARD
        for row in rows_of(hand, folder)
    ]
    for name, danger in LINES.items():
        lines = (folder / f"{name}.txt").read_text(encoding="utf-8").splitlines()
        told += [lesson(_LINES, line, danger=danger) for line in lines]
    return told
