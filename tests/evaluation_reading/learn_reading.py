"""The weights of all labels, learned: ``python -m tests.evaluation_reading.learn_reading``.

All clues, of words and of rules, are weighed at once, and those that are left once more when the light
ones are gone. What rules find counts for less than it seems to tell, and messages for which rules were
mended count less, since the rules look better on them than on a stranger's. With ``--hands`` nothing is
written: each hand for which no rule was made is left out in turn, and the tables say how it is then
read. To be run anew after messages, words, phrases or decisions have changed, after ``learn_danger``.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.sparse import csr_matrix, hstack

from rules.model import Intent, Kind
from rules.reading.slots import SLOTS, Slot, slots_of
from rules.reading.weights import LABELS, Weights, decided, packed, sums_of_slots, unpacked

from .hands import FIRST_READ, counts_of
from .logistic import (
    Floats,
    Loss,
    fitted_together,
    known_clues,
    logistic,
    matrix,
    squared_hinge,
)
from .reading_lessons import Lesson, everything, name_of, seen_in

__all__ = ["learn", "written"]

_TABLE = Path(__file__).parents[2] / "rules" / "data" / "reading_weights.yaml"
_SEEN_AT_LEAST = 3
_HUNDREDTHS = 100
# A pair of clues, some letters of a word, and what rules find say less anew than a word does; what they
# find of a slot is as good as one.
_LESS = 0.5
# A label is told a little before more speaks for it than against: for it to be found is worth as much as
# for it to be right.
_EAGERNESS = 0.5
# Lighter clues of words are left out: there are many, and each says little.
_LIGHTEST = 0.045
_FIRST_SLOT = len(LABELS) - len(SLOTS)


@dataclass(frozen=True)
class _Way:
    """How some of the labels are learned; ``scale`` brings their sums to what decisions expect."""

    part: slice
    loss: Loss
    penalty: float
    scale: float


# Strangers' kinds and intents are told better by what is left of doubt than by how likely each is.
_WAYS = (
    _Way(slice(_FIRST_SLOT), squared_hinge, 25.0, 3.0),
    _Way(slice(_FIRST_SLOT, None), logistic, 2.5, 1.0),
)


@dataclass(frozen=True)
class _Taught:
    """Lessons as one matrix: a column for each known clue of words, then of rules."""

    lessons: Sequence[Lesson]
    words: Sequence[str]
    rules: Sequence[str]
    clues: csr_matrix
    values: Floats
    labels: NDArray[np.bool_]

    @classmethod
    def by(cls, lessons: Sequence[Lesson]) -> _Taught:
        """The lessons laid out."""
        words = known_clues((x.words for x in lessons), _SEEN_AT_LEAST)
        rules = known_clues((x.rules for x in lessons), _SEEN_AT_LEAST)
        of_words = matrix([x.words for x in lessons], words, _value_of_words)
        of_rules = matrix([x.rules for x in lessons], rules, _value_of_rules)
        values = np.array([*map(_value_of_words, words), *map(_value_of_rules, rules)])
        labels = np.array([x.labels for x in lessons])
        return cls(lessons, words, rules, hstack([of_words, of_rules]).tocsr(), values, labels)

    def weighed(self, rows: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """The weights of all clues, a column for each label, and what each label starts from."""
        counts = np.array([counts_of(x.hand) for x in self.lessons])[rows]
        parts = [self._learned(way, rows, counts) for way in _WAYS]
        weights = np.hstack([weights for weights, _ in parts])
        biases = np.hstack([biases for _, biases in parts])
        return weights, biases + np.array([*map(_eager, LABELS)])

    def _learned(self, way: _Way, rows: NDArray[np.bool_], counts: Floats) -> tuple[Floats, Floats]:
        """Weights and biases of some labels: of all clues, then of those that are heavy enough."""
        clues, labels = self.clues[rows], self.labels[rows, way.part]
        weights, _ = fitted_together(clues, labels, way.penalty, counts, way.loss)
        heavy = np.abs(weights * self.values[:, None]) * way.scale >= _LIGHTEST
        heavy[len(self.words) :] = True
        weights, biases = fitted_together(clues, labels, way.penalty, counts, way.loss, heavy)
        return weights * way.scale, biases * way.scale


def _eager(label: Kind | Intent | Slot) -> float:
    """Of intents and noises one is told in any case."""
    one_of_several = isinstance(label, Intent) or getattr(label, "field", "") == "noise"
    return 0.0 if one_of_several else _EAGERNESS


def _value_of_words(clue: str) -> float:
    alone = " " not in clue.removeprefix("!not ") and clue[0] != "~"
    return 1.0 if alone else _LESS


def _value_of_rules(clue: str) -> float:
    return 1.0 if clue.startswith("is ") else _LESS


def learn(lessons: Sequence[Lesson]) -> Weights:
    """The weights that lessons teach."""
    taught = _Taught.by(lessons)
    weights, biases = taught.weighed(np.ones(len(lessons), dtype=bool))
    hundredths = np.rint(weights * taught.values[:, None] * _HUNDREDTHS).astype(int)
    end = len(taught.words)
    return Weights(
        packed(enumerate(map(int, np.rint(biases * _HUNDREDTHS)))),
        _worth(taught.words, hundredths[:end]),
        _worth(taught.rules, hundredths[end:]),
    )


def _worth(clues: Sequence[str], hundredths: NDArray[np.int_]) -> dict[str, int]:
    return {
        clue: packed([(int(at), int(row[at])) for at in np.flatnonzero(row)])
        for clue, row in zip(clues, hundredths, strict=True)
        if row.any()
    }


def written(weights: Weights, seen: Mapping[str, int]) -> str:
    """The table as YAML, clues in the order of the alphabet; ``seen`` says of what it was learned."""
    return "\n".join(
        [
            "# What each clue is worth for each label, in hundredths: the clue, then places",
            "# of labels with their weights. Learned by tests/evaluation_reading/learn_reading.py from",
            "# the labelled messages, not by hand; rules/reading/clues.py says what clues are.",
            f"# {', '.join(f'{at} {name_of(label)}' for at, label in enumerate(LABELS))}",
            f"bias: [{', '.join(map(str, unpacked(weights.bias)))}]",
            *_lines("words", weights.words),
            *_lines("rules", weights.rules),
            "# In how many of the messages there was what: a test compares it with what there is now.",
            "seen:",
            *(f"  {name}: {times}" for name, times in seen.items()),
            "",
        ]
    )


def _lines(name: str, worth: Mapping[str, int]) -> list[str]:
    lines = [f"{name}: |-"]
    for clue, weight in sorted(worth.items()):
        listed = [f"{at} {w}" for at, w in enumerate(unpacked(weight)) if w]
        lines.append(f"  {clue} = {' '.join(listed)}")
    return lines


@dataclass(frozen=True)
class _LeftOut:
    """How a message was read by weights that have not learned from its hand: names of labels."""

    lesson: Lesson
    intent: Intent
    told: frozenset[str]


def _left_out(taught: _Taught) -> Iterator[_LeftOut]:
    """Each hand for which no rule was made, read by what the others teach, the ear left aside."""
    hands = np.array([x.hand for x in taught.lessons])
    for hand in FIRST_READ:
        own = hands == hand
        weights, biases = taught.weighed(~own)
        sums = (taught.clues[own] @ weights + biases) * _HUNDREDTHS
        for at, row in zip(np.flatnonzero(own), sums.tolist(), strict=True):
            yield _read(taught.lessons[at], row)


def _read(lesson: Lesson, sums: Sequence[float]) -> _LeftOut:
    denied = [kind for kind in Kind if f"trouble not {kind.value}" in lesson.rules]
    intent, kinds = decided(
        sums,
        *lesson.by_rule,
        danger=lesson.signs,
        denied=denied,
        may_stop="talk stop_not" not in lesson.rules,
    )
    slots = slots_of(sums_of_slots(sums), is_noise=Kind.NOISE in kinds)
    told = {*map(name_of, kinds), *map(name_of, slots.told()), name_of(intent)}
    return _LeftOut(lesson, intent, frozenset(told))


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


def _print_hands(read: Sequence[_LeftOut], console: Console) -> None:
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
    for name in map(name_of, LABELS):
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


if __name__ == "__main__":
    if "--hands" in sys.argv:
        _print_hands([*_left_out(_Taught.by(everything()))], Console(width=150))
    else:
        lessons = everything()
        _TABLE.write_text(written(learn(lessons), seen_in(lessons)), encoding="utf-8")
