"""How messages are read of hands that nothing was learned from: by hand and by label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.table import Table

from rules.model import Intent, Kind
from rules.reading.certain import certain_by, denied_by
from rules.reading.slots import SLOTS, slots_of
from rules.reading.weights import LABELS, decided, kinds_of_dangers, sums_of_slots

from .hands import FIRST_READ
from .learn_once_more import LeftOut, learn_once_more
from .reading_lessons import Lesson, name_of

__all__ = ["print_hands", "read_left_out"]

_SIGN = "sign "


@dataclass(frozen=True)
class _LeftOut:
    """How a message was read by weights that have not learned from its hand: names of labels."""

    lesson: Lesson
    intent: Intent
    told: frozenset[str]


def read_left_out(groups: LeftOut) -> Iterator[_LeftOut]:
    """Each group of hands read by what the others teach, first and once more, the ear left aside."""
    for at, (lessons, first) in enumerate(groups):
        weights = learn_once_more([*groups[:at], *groups[at + 1 :]])
        for lesson, sums in zip(lessons, first, strict=True):
            yield _read(lesson, weights.sums(sums, *lesson.by_rule, asked="asked" in lesson.rules))


def _read(lesson: Lesson, sums: Sequence[float]) -> _LeftOut:
    said = {clue.removeprefix("trouble ") for clue in lesson.rules}
    intent, kinds = decided(
        sums,
        *lesson.by_rule,
        danger=kinds_of_dangers(
            clue.removeprefix(_SIGN) for clue in lesson.rules if clue.startswith(_SIGN)
        ),
        denied=denied_by(said),
        certain=certain_by(said),
        never=_never(lesson),
    )
    slots = slots_of(sums_of_slots(sums), is_noise=Kind.NOISE in kinds)
    told = {*map(name_of, kinds), *map(name_of, slots.told()), name_of(intent)}
    return _LeftOut(lesson, intent, frozenset(told))


def _never(lesson: Lesson) -> set[Intent]:
    """As ``Talk.never`` says it, by the clues of rules."""
    persists = lesson.by_rule[0] is Intent.COMPLAINT and "talk persists" in lesson.rules
    another_stop = "talk stop_not" in lesson.rules
    never = {Intent.RESOLVED, Intent.STATUS_QUESTION} if persists else set()
    return never | ({Intent.STOP} if another_stop else set())


def _names(kind: type | str) -> frozenset[str]:
    """The names of the labels of a sort: a class, or a field of ``slots``."""
    return frozenset(
        name_of(label)
        for label in LABELS
        if (
            isinstance(label, kind)
            if isinstance(kind, type)
            else getattr(label, "field", "") == kind
        )
    )


_SORTS = {
    "kinds": _names(Kind),
    **{field: _names(field) for field in dict.fromkeys(slot.field for slot in SLOTS)},
}


def print_hands(read: Sequence[_LeftOut], console: Console) -> None:
    """Hand by hand, and label by label."""
    table = Table(title="F1 (precision, recall), and intent right")
    for column in ("hand left out", *_SORTS, "intent"):
        table.add_column(column)
    for hand in (*FIRST_READ, "all"):
        own = [x for x in read if hand in (x.lesson.hand, "all")]
        figures = (_figures(own, names) for names in _SORTS.values())
        right = sum(name_of(x.intent) in _wanted(x) for x in own) / len(own)
        table.add_row(hand, *figures, f"{right:.3f}")
    console.print(table)
    table = Table(title="All hands left out, label by label")
    for column in ("label", "labelled", "F1 (precision, recall)"):
        table.add_column(column)
    for name in map(name_of, LABELS[:-1]):
        table.add_row(
            name, str(sum(name in _wanted(x) for x in read)), _figures(read, frozenset((name,)))
        )
    console.print(table)


def _figures(read: Sequence[_LeftOut], names: frozenset[str]) -> str:
    right = sum(len(x.told & _wanted(x) & names) for x in read)
    told = sum(len(x.told & names) for x in read)
    wanted = sum(len(_wanted(x) & names) for x in read)
    return (
        f"{2 * right / max(1, told + wanted):.3f}"
        f" ({right / max(1, told):.2f} {right / max(1, wanted):.2f})"
    )


def _wanted(read: _LeftOut) -> frozenset[str]:
    labels = zip(LABELS, read.lesson.labels, strict=True)
    return frozenset(name_of(label) for label, has in labels if has)
