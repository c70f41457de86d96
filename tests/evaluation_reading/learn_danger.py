"""The ear's table, learned from labelled messages: ``python -m tests.evaluation_reading.learn_danger``.

Logistic regression over the clues of ``rules.reading.ear``; the heaviest clues are kept and weighed
once more. What the ear says and what the signs say is then weighed against each other on messages for
which no sign was ever made, heard by an ear that has not learned from their hand; and the bias is set
on the same messages, so that few harmless ones of a stranger are taken for danger. Nothing is drawn at
random. With ``--hands`` nothing is written, and the table says how those are heard. To be run anew
after the tables of danger or the messages have changed, before ``learn_reading``.
"""

from __future__ import annotations

import sys
import textwrap
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.sparse import csr_matrix, diags, hstack

from rules.reading.danger_table import danger_table
from rules.reading.ear import ANY_SIGN, Weighing

from .ear_lessons import Lesson, lessons_of
from .hands import FIRST_READ, MIXTURES
from .logistic import Floats, fitted, known_clues, matrix

__all__ = ["FALSE_ALARMS", "heard_left_out", "heard_of_hands", "learned", "weighed", "written"]

_TABLE = Path(__file__).parents[2] / "rules" / "data" / "danger_ear.yaml"
# The share of a stranger's harmless messages that may be taken for danger.
FALSE_ALARMS = 0.05
_PENALTY = 0.05
_PENALTY_OF_SIGNS = 1.0
_SEEN_AT_LEAST = 2
_CLUES_KEPT = 5000
_TENTHS = 10
_Bools = NDArray[np.bool_]


# Messages no sign was made for, the score of each, and the scores of the sentences of its signs.
LeftOut = tuple[Sequence[Lesson], Floats, Sequence[Floats]]


def learned(lessons: Sequence[Lesson], left_out: LeftOut) -> dict[str, Any]:
    """The weighings of an ear that has heard all lessons: for danger, its signs, and each kind."""
    danger = weighed([x.clues for x in lessons], [x.danger for x in lessons])
    told, whole, alone = left_out
    trust, signs = _with_signs(told, whole)
    bias = -_threshold(told, _scores(told, whole, alone, trust, signs))
    sorted_out = [x for x in lessons if x.kind is not None]
    return {
        "danger": Weighing(
            {c: w for c, heavy in danger.weights.items() if (w := round(heavy * trust))},
            round(danger.bias * trust + bias * _TENTHS, 1),
        ),
        "signs": {sign: round(weight * _TENTHS) for sign, weight in signs.items()},
        "kinds": {
            kind: weighed([x.concepts for x in sorted_out], [x.kind == kind for x in sorted_out])
            for kind in danger_table().kinds
        },
    }


def heard_left_out(lessons: Sequence[Lesson]) -> LeftOut:
    """Messages no sign was made for, with scores by an ear that has not heard their hand."""
    told: list[Lesson] = []
    whole: list[float] = []
    alone: list[Floats] = []
    for hand in FIRST_READ:
        rest = [x for x in lessons if x.hand != hand]
        ear = weighed([x.clues for x in rest], [x.danger for x in rest])
        for own in (x for x in lessons if x.hand == hand):
            told.append(own)
            whole.append(ear.score(own.clues) / _TENTHS)
            alone.append(np.array([ear.score(c) / _TENTHS for _, c in own.alone]))
    return told, np.array(whole), alone


def _with_signs(told: Sequence[Lesson], whole: Floats) -> tuple[float, dict[str, float]]:
    """What the ear's own score counts, and what each sign is worth."""
    names = known_clues((x.signs for x in told), _SEEN_AT_LEAST)
    right = np.array([x.danger for x in told])
    both = hstack([matrix([x.signs for x in told], names), csr_matrix(whole[:, None])]).tocsr()
    weight, _ = fitted(both, right, _PENALTY_OF_SIGNS, _evened(right))
    return float(weight[-1]), dict(zip(names, map(float, weight[:-1]), strict=True))


def _scores(
    told: Sequence[Lesson],
    whole: Floats,
    alone: Sequence[Floats],
    trust: float,
    signs: Mapping[str, float],
) -> Floats:
    """The score that decides: of the whole text, or of the sentence of a sign if that is higher."""

    def worth(said: frozenset[str]) -> float:
        return sum(signs.get(sign, 0.0) for sign in said)

    return np.array(
        [
            max(
                trust * score + worth(x.signs),
                *(
                    trust * float(own) + worth(frozenset((kind, ANY_SIGN)))
                    for (kind, _), own in zip(x.alone, owns, strict=True)
                ),
                -np.inf,
            )
            for x, score, owns in zip(told, whole, alone, strict=True)
        ]
    )


def _threshold(told: Sequence[Lesson], scores: Floats) -> float:
    """The least score above which few enough harmless messages lie.

    Of that hand among those of a real line's mixture that is the worst to hear.
    """
    return max(
        _least_quiet(scores[[x.hand == hand and not x.danger for x in told]]) for hand in MIXTURES
    )


def _least_quiet(scores: Floats) -> float:
    """The least score of harmless messages above which few enough of them lie."""
    downwards = np.sort(scores)[::-1]
    return float(downwards[int(FALSE_ALARMS * len(scores))])


def heard_of_hands(left_out: LeftOut) -> Iterator[tuple[str, float, float]]:
    """For each hand no sign was made for: dangers heard and harmless messages taken for one.

    Neither the ear nor the worth of signs has learned from that hand; the bias is one for both.
    """
    told, whole, alone = left_out
    scores = np.zeros(len(told))
    for hand in FIRST_READ:
        own = np.array([x.hand == hand for x in told])
        rest = np.flatnonzero(~own)
        trust, signs = _with_signs([told[n] for n in rest], whole[rest])
        scores[own] = _scores(told, whole, alone, trust, signs)[own]
    heard = scores > _threshold(told, scores)
    for hand in FIRST_READ:
        dangers = [x.hand == hand and x.danger for x in told]
        harmless = [x.hand == hand and not x.danger for x in told]
        yield hand, float(heard[dangers].mean()), float(heard[harmless].mean())


def _evened(right: _Bools) -> Floats:
    """What is rarer counts as much, together, as what is frequent."""
    return np.where(right, 0.5 / right.mean(), 0.5 / (1 - right.mean()))


def weighed(told: Sequence[frozenset[str]], right: Sequence[bool]) -> Weighing:
    """The weights of the clues that tell best what is right, in tenths."""
    known = known_clues(told, _SEEN_AT_LEAST)
    weights, _ = _of_texts(told, known, right)
    order = np.argsort(-np.abs(weights), kind="stable")[:_CLUES_KEPT]
    kept = [known[n] for n in sorted(order)]
    weights, bias = _of_texts(told, kept, right)
    tenths = (round(float(weight) * _TENTHS) for weight in weights)
    return Weighing(
        {clue: weight for clue, weight in zip(kept, tenths, strict=True) if weight},
        round(bias * _TENTHS, 1),
    )


def _of_texts(
    told: Sequence[frozenset[str]], known: Sequence[str], right: Sequence[bool]
) -> tuple[Floats, float]:
    rows = matrix(told, known)
    lengths = diags(1 / np.sqrt(np.maximum(1, np.diff(rows.indptr))))
    wanted = np.array(right, dtype=bool)
    return fitted((lengths @ rows).tocsr(), wanted, _PENALTY, _evened(wanted))


def written(table: Mapping[str, Any]) -> str:
    """The table as YAML: clues by weight, the heaviest first."""
    return "\n".join(
        [
            "# What each clue weighs for danger (above zero) and against it, in tenths. Learned by",
            "# tests/evaluation_reading/learn_danger.py from the labelled messages, not written by",
            "# hand; rules/reading/ear.py says what clues are.",
            "danger:",
            *_block(table["danger"], "  "),
            "# What a sign is worth that stands, or was taken back.",
            "signs:",
            *(f"  {sign}: {weight}" for sign, weight in table["signs"].items()),
            "# Among dangers, what each concept weighs for a kind.",
            "kinds:",
            *(
                line
                for kind, weighing in table["kinds"].items()
                for line in (f"  {kind}:", *_block(weighing, "    "))
            ),
            "",
        ]
    )


def _block(weighing: Weighing, indent: str) -> Iterator[str]:
    by_weight: dict[int, list[str]] = defaultdict(list)
    for clue, weight in sorted(weighing.weights.items()):
        by_weight[weight].append(clue)
    yield f"{indent}bias: {weighing.bias}"
    yield f"{indent}weights:"
    for weight in sorted(by_weight, reverse=True):
        yield f"{indent}  {weight}: >-"
        listed = ", ".join(by_weight[weight])
        for line in textwrap.wrap(listed, 112, break_long_words=False, break_on_hyphens=False):
            yield f"{indent}    {line}"


def _print_hands(left_out: LeftOut, console: Console) -> None:
    table = Table(title="Heard by an ear that has not learned from the hand")
    for column in ("hand left out", "dangers heard", "false alarms"):
        table.add_column(column)
    for hand, recall, alarms in heard_of_hands(left_out):
        table.add_row(hand, f"{recall:.3f}", f"{alarms:.3f}")
    console.print(table)


if __name__ == "__main__":
    taught = lessons_of()
    if "--hands" in sys.argv:
        _print_hands(heard_left_out(taught), Console())
    else:
        _TABLE.write_text(written(learned(taught, heard_left_out(taught))), encoding="utf-8")
