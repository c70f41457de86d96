"""What the ear knows, learned from labelled messages: what each clue is worth for danger, and kinds.

Squared hinge over the clues of words and signs, each text divided by the root of its number of words;
the heavy clues are weighed once more. From how loud on a text is a danger is set by messages for which
no sign was ever made, heard by an ear that has not learned from their hand: few harmless ones may lie
above. Nothing is drawn at random. ``learn_reading`` writes the tables.
"""

from __future__ import annotations

import textwrap
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.sparse import csr_matrix, diags

from rules.reading.danger_table import danger_table
from rules.reading.ear import Weighing, loudness

from .clue_matrix import laid_out
from .ear_lessons import concepts_told, is_danger, kind_of_danger
from .hands import FIRST_READ, ON_PURPOSE, counts_of, in_turn
from .logistic import Floats, fitted, known_clues, matrix, squared_hinge
from .reading_lessons import Lesson

__all__ = [
    "FALSE_ALARMS",
    "LeftOut",
    "Loud",
    "ear_written",
    "heard_left_out",
    "heard_of_hands",
    "kinds_learned",
    "learn_danger",
    "least_loud",
    "print_heard",
    "weighed",
]

# The share of a stranger's harmless messages that may be taken for danger.
FALSE_ALARMS = 0.043
_PENALTY = 8.0
_LIGHTEST = 0.014
_HUNDREDTHS = 100
# Kinds of danger: logistic regression over concepts; the heaviest are weighed once more.
_PENALTY_OF_KINDS = 0.05
_SEEN_AT_LEAST = 2
_TENTHS = 10
_Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Loud:
    """What each clue of words and of signs is worth for danger, in hundredths, and what all start at."""

    words: Mapping[str, int]
    signs: Mapping[str, int]
    bias: int


@dataclass(frozen=True)
class LeftOut:
    """How loud messages no sign was made for are to an ear that has not learned from their hand.

    In hundredths, above zero where they are likelier dangers than not; ``danger`` says what they are.
    """

    hands: NDArray[np.str_]
    danger: _Bools
    loud: Floats


def learn_danger(told: Sequence[Lesson]) -> Loud:
    """What the ear's lessons teach (``listened_to``)."""
    laid = laid_out(told)
    rows, right, counts = _evened(laid.clues, told), _dangers(told), _counts(told)
    weights, _ = fitted(rows, right, _PENALTY, counts, squared_hinge)
    heavy = np.flatnonzero(np.abs(weights * laid.values) >= _LIGHTEST)
    kept, bias = fitted(rows[:, heavy], right, _PENALTY, counts, squared_hinge)
    worth = np.rint(kept * laid.values[heavy] * _HUNDREDTHS).astype(int).tolist()
    clues = [*laid.words, *laid.rules]
    by_clue = {clues[at]: w for at, w in zip(heavy, worth, strict=True) if w}
    signs = set(laid.rules)
    return Loud(
        {clue: w for clue, w in by_clue.items() if clue not in signs},
        {clue: w for clue, w in by_clue.items() if clue in signs},
        round(bias * _HUNDREDTHS),
    )


def heard_left_out(told: Sequence[Lesson]) -> LeftOut:
    """The ear's lessons of hands no sign was made for, a few heard by what the others teach."""
    rows, right, counts = _evened(laid_out(told).clues, told), _dangers(told), _counts(told)
    hands = np.array([x.hand for x in told])
    loud = np.zeros(len(told))
    for some in in_turn():
        own = np.isin(hands, some)
        weights, bias = fitted(rows[~own], right[~own], _PENALTY, counts[~own], squared_hinge)
        loud[own] = (rows[own] @ weights + bias) * _HUNDREDTHS
    first = np.isin(hands, FIRST_READ)
    return LeftOut(hands[first], right[first], loud[first])


def least_loud(heard: LeftOut) -> int:
    """The least loudness above which few enough harmless messages of a stranger lie.

    Those hands left aside that wrote harmless messages to sound like danger.
    """
    harmless = heard.loud[~heard.danger & ~np.isin(heard.hands, ON_PURPOSE)]
    return round(float(np.sort(harmless)[::-1][int(FALSE_ALARMS * len(harmless))]))


def heard_of_hands(heard: LeftOut) -> Iterator[tuple[str, float, float]]:
    """For each hand left out: the shares of dangers heard, and of harmless messages taken for one."""
    is_heard = heard.loud > least_loud(heard)
    for hand in FIRST_READ:
        own = heard.hands == hand
        yield (
            hand,
            float(is_heard[own & heard.danger].mean()),
            float(is_heard[own & ~heard.danger].mean()),
        )


def _evened(clues: csr_matrix, told: Sequence[Lesson]) -> csr_matrix:
    """Each row as if its text had the usual number of words."""
    return (diags([loudness(1.0, x.spoken) for x in told]) @ clues).tocsr()


def _dangers(told: Sequence[Lesson]) -> _Bools:
    return np.array([is_danger(x) for x in told])


def _counts(told: Sequence[Lesson]) -> Floats:
    return np.array([counts_of(x.hand) for x in told])


def kinds_learned(told: Sequence[Lesson]) -> dict[str, Weighing]:
    """Among dangers, what each concept is worth for each kind."""
    sorted_out = [
        (concepts_told(x), kind)
        for x in told
        if is_danger(x) and (kind := kind_of_danger(x)) is not None
    ]
    return {
        kind: weighed([told for told, _ in sorted_out], [it == kind for _, it in sorted_out])
        for kind in danger_table().kinds
    }


def weighed(told: Sequence[frozenset[str]], right: Sequence[bool]) -> Weighing:
    """The weights of the concepts that tell what is right, in tenths."""
    known = known_clues(told, _SEEN_AT_LEAST)
    rows = matrix(told, known)
    lengths = diags(1 / np.sqrt(np.maximum(1, np.diff(rows.indptr))))
    wanted = np.array(right, dtype=bool)
    even = np.where(wanted, 0.5 / wanted.mean(), 0.5 / (1 - wanted.mean()))
    weights, bias = fitted((lengths @ rows).tocsr(), wanted, _PENALTY_OF_KINDS, even)
    tenths = (round(float(weight) * _TENTHS) for weight in weights)
    return Weighing(
        {clue: weight for clue, weight in zip(known, tenths, strict=True) if weight},
        round(bias * _TENTHS, 1),
    )


def ear_written(least: int, kinds: Mapping[str, Weighing]) -> str:
    """The table as YAML: concepts by weight, the heaviest first."""
    return "\n".join(
        [
            "# From how loud on a text is a danger, in hundredths as reading_weights.yaml weighs; and",
            "# among dangers, what each concept weighs for a kind, in tenths. Learned by",
            "# tests/evaluation_reading/learn_reading.py, not by hand; rules/reading/ear.py says",
            "# what loud is.",
            f"least: {least}",
            "kinds:",
            *(
                line
                for kind, weighing in kinds.items()
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


def print_heard(heard: LeftOut, console: Console) -> None:
    """Hand by hand what an ear hears that has not learned from it, and what other thresholds would."""
    table = Table(title="Heard by an ear that has not learned from the hand")
    for column in ("hand left out", "dangers heard", "false alarms"):
        table.add_column(column)
    for hand, recall, alarms in heard_of_hands(heard):
        table.add_row(hand, f"{recall:.3f}", f"{alarms:.3f}")
    console.print(table)
    table = Table(title="Dangers missed, by how many harmless messages are taken for one")
    for column in ("false alarms", "missed", "of hands that did not write to sound like danger"):
        table.add_column(column)
    usual = ~np.isin(heard.hands, ON_PURPOSE)
    quiet = np.sort(heard.loud[~heard.danger & usual])[::-1]
    for share in (0.02, 0.025, 0.03, 0.035, 0.04, 0.045, 0.05, 0.06):
        missed = heard.danger & (heard.loud <= quiet[int(share * len(quiet))])
        table.add_row(f"{share:.3f}", str(missed.sum()), str((missed & usual).sum()))
    console.print(table)
