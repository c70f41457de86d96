"""The tables of weights, learned: ``python -m tests.evaluation_reading.learn_reading``.

All clues, of words and of rules, are weighed at once, and those that are left once more when the
light ones are gone. What is found in many texts counts less than what is rare. What rules find
counts for less than it seems to tell, and messages for which rules were mended count less, since
the rules look better on them than on a stranger's. What the sums of all labels say of each is
learned from the sums of hands that were left out (``learn_once_more``). With ``--hands`` nothing is
written: hands for which no rule was made are left out in turn, three at a time, and the tables say
how they are then read. Danger is a label with ways of its own (``learn_danger``). To be run anew after
messages, words, phrases, signs or decisions have changed.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console

from rules.model import Intent, Kind
from rules.reading.slots import SLOTS, Slot
from rules.reading.weights import DANGER, LABELS, Weights, packed, unpacked

from .clue_matrix import Laid, laid_out
from .ear_lessons import listened_to
from .hands import counts_of, in_turn
from .hands_left_out import print_hands, read_left_out
from .learn_danger import (
    Loud,
    ear_written,
    heard_left_out,
    kinds_learned,
    learn_danger,
    least_loud,
    print_heard,
)
from .learn_once_more import LeftOut, learn_once_more, once_more_written
from .logistic import Floats, Loss, fitted_together, logistic, squared_hinge
from .reading_lessons import Lesson, everything, name_of, seen_in

__all__ = ["learn", "left_out", "with_danger", "written"]

_TABLES = Path(__file__).parents[2] / "rules" / "data"
_HUNDREDTHS = 100
# A label is told a little before more speaks for it than against: for it to be found is worth as much as
# for it to be right. What is said of the home more than a little: weights are far too careful there.
_EAGERNESS = 0.5
_EAGERNESS_OF = {"emitter": 1.5, "window_open": 2.0, "thermostat_blank": 2.0}
# Lighter clues of words are left out: there are many, and each says little.
_LIGHTEST = 0.045
_DANGER = LABELS.index(DANGER)
_FIRST_SLOT = _DANGER - len(SLOTS)


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
    _Way(slice(_FIRST_SLOT, _DANGER), logistic, 2.5, 1.0),
)


@dataclass(frozen=True)
class _Taught:
    """Lessons as one matrix: a column for each known clue of words, then of rules."""

    lessons: Sequence[Lesson]
    laid: Laid
    labels: NDArray[np.bool_]

    @classmethod
    def by(cls, lessons: Sequence[Lesson]) -> _Taught:
        """The lessons laid out."""
        return cls(lessons, laid_out(lessons), np.array([x.labels for x in lessons]))

    def weighed(
        self, rows: NDArray[np.bool_], *, ways: Sequence[_Way] = _WAYS, light_too: bool = False
    ) -> tuple[Floats, Floats]:
        """The weights of all clues, a column for each label, and what each label starts from."""
        counts = np.array([counts_of(x.hand) for x in self.lessons])[rows]
        parts = [self._learned(way, rows, counts, light_too=light_too) for way in ways]
        weights = np.hstack([weights for weights, _ in parts])
        biases = np.hstack([biases for _, biases in parts])
        return weights, biases + np.array([*map(_eager, LABELS)])[: len(biases)]

    def _learned(
        self, way: _Way, rows: NDArray[np.bool_], counts: Floats, *, light_too: bool
    ) -> tuple[Floats, Floats]:
        """Weights and biases of some labels: of all clues, then of those that are heavy enough."""
        clues, labels = self.laid.clues[rows], self.labels[rows, way.part]
        weights, biases = fitted_together(clues, labels, way.penalty, counts, way.loss)
        if not light_too:
            heavy = np.abs(weights * self.laid.values[:, None]) * way.scale >= _LIGHTEST
            heavy[len(self.laid.words) :] = True
            weights, biases = fitted_together(clues, labels, way.penalty, counts, way.loss, heavy)
        return weights * way.scale, biases * way.scale


def _eager(label: Kind | Intent | Slot | str) -> float:
    """Of intents and noises one is told in any case."""
    field = label.field if isinstance(label, Slot) else ""
    if isinstance(label, Intent) or field == "noise":
        return 0.0
    return _EAGERNESS_OF.get(field, _EAGERNESS)


def learn(lessons: Sequence[Lesson]) -> Weights:
    """The weights that lessons teach."""
    taught = _Taught.by(lessons)
    weights, biases = taught.weighed(np.ones(len(lessons), dtype=bool))
    hundredths = np.rint(weights * taught.laid.values[:, None] * _HUNDREDTHS).astype(int)
    end = len(taught.laid.words)
    return Weights(
        packed(enumerate(map(int, np.rint(biases * _HUNDREDTHS)))),
        _worth(taught.laid.words, hundredths[:end]),
        _worth(taught.laid.rules, hundredths[end:]),
    )


def with_danger(weights: Weights, loud: Loud) -> Weights:
    """The weights of all labels with those of danger."""

    def both(worth: Mapping[str, int], more: Mapping[str, int]) -> dict[str, int]:
        return {
            clue: worth.get(clue, 0) + packed([(_DANGER, more.get(clue, 0))])
            for clue in worth.keys() | more.keys()
        }

    return Weights(weights.bias, both(weights.words, loud.words), both(weights.rules, loud.signs))


def left_out(lessons: Sequence[Lesson], *, slots_too: bool) -> LeftOut:
    """Messages for which no rule was made, in groups of a few hands, with what speaks for each label.

    By weights, light ones too, that have learned from none of the hands of the group.
    """
    taught = _Taught.by(lessons)
    hands = np.array([x.hand for x in lessons])
    groups = []
    for some in in_turn():
        own = np.isin(hands, some)
        if own.any():
            ways = _WAYS if slots_too else _WAYS[:1]
            weights, biases = taught.weighed(~own, ways=ways, light_too=True)
            sums = np.rint((taught.laid.clues[own] @ weights + biases) * _HUNDREDTHS).astype(int)
            groups.append(([lessons[n] for n in np.flatnonzero(own)], sums.tolist()))
    return groups


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


def _write(lessons: Sequence[Lesson], kept_apart: LeftOut) -> None:
    told = listened_to(lessons)
    loud = learn_danger(told)
    # What all start from is in the threshold.
    least = least_loud(heard_left_out(told)) - loud.bias
    tables = {
        "reading_weights": written(with_danger(learn(lessons), loud), seen_in(lessons)),
        "reading_once_more": once_more_written(learn_once_more(kept_apart)),
        "danger_ear": ear_written(least, kinds_learned(told)),
    }
    for name, text in tables.items():
        (_TABLES / f"{name}.yaml").write_text(text, encoding="utf-8")


def _print_left_out(lessons: Sequence[Lesson], kept_apart: LeftOut) -> None:
    console = Console(width=150)
    print_hands([*read_left_out(kept_apart)], console)
    print_heard(heard_left_out(listened_to(lessons)), console)


if __name__ == "__main__":
    everybody = everything()
    by_hands = "--hands" in sys.argv
    (_print_left_out if by_hands else _write)(everybody, left_out(everybody, slots_too=by_hands))
