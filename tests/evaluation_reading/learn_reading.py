"""The weights of kinds and intents, learned: ``python -m tests.evaluation_reading.learn_reading``.

First the clues of words are weighed by all messages. Then, for each label, what the words say and what
the rules made of a text are weighed against each other; there the words speak by weights that were
learned without the hand that wrote the text, and messages for which rules were mended count less, since
the rules look better on them than on a stranger's. With ``--hands`` nothing is written: each hand in
turn is left out of everything, and the table says how it is then read. To be run anew after messages,
words, phrases or decisions have changed, after ``learn_danger``.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table
from scipy.sparse import csr_matrix, hstack

from rules.model import Intent, Kind
from rules.reading.weights import LABELS, Weights, decided, packed, unpacked

from .hands import HANDS, counts_of
from .logistic import Floats, fitted, known_clues, matrix
from .reading_lessons import Lesson, everything, name_of, seen_in

__all__ = ["learn", "written"]

_TABLE = Path(__file__).parents[2] / "rules" / "data" / "reading_weights.yaml"
_PENALTY_OF_WORDS = 3.3
_PENALTY_OF_RULES = 2.0
_SEEN_AT_LEAST = 3
_HUNDREDTHS = 100
# A pair of clues says less anew than either of them.
_PAIR = 0.5
# A kind is told a little before more speaks for it than against: for kinds to be found is worth as much
# as for them to be right.
_EAGER = 0.1
# Lighter clues of words are left out: there are many, and they say little.
_LIGHTEST = 0.07


@dataclass(frozen=True)
class _Taught:
    """Lessons as matrices, and what their words say when their own hand is left out."""

    lessons: Sequence[Lesson]
    words: Sequence[str]
    rules: Sequence[str]
    of_words: csr_matrix
    of_rules: csr_matrix
    labels: NDArray[np.bool_]
    hands: NDArray[np.str_]
    left_out: Floats

    @classmethod
    def by(cls, lessons: Sequence[Lesson]) -> _Taught:
        """Everything that is learned of the words, each hand left out in turn."""
        words = known_clues((x.words for x in lessons), _SEEN_AT_LEAST)
        rules = known_clues((x.rules for x in lessons), _SEEN_AT_LEAST)
        of_words = matrix([x.words for x in lessons], words, _value)
        labels = np.array([x.labels for x in lessons])
        hands = np.array([x.hand for x in lessons])
        said = np.zeros(labels.shape)
        for hand in sorted(set(hands)):
            rest, own = hands != hand, hands == hand
            for at in range(len(LABELS)):
                weight, bias = _of_words(of_words[rest], labels[rest, at])
                said[own, at] = of_words[own] @ weight + bias
        of_rules = matrix([x.rules for x in lessons], rules)
        return cls(lessons, words, rules, of_words, of_rules, labels, hands, said)

    def weighed(self, at: int, rows: NDArray[np.bool_]) -> tuple[float, Floats, float]:
        """For a label, what the words' own score counts, the weights of rules, and the bias."""
        both = hstack([self.of_rules, csr_matrix(self.left_out[:, [at]] / 2)]).tocsr()
        counts = np.array([counts_of(x.hand) for x in self.lessons])
        weight, bias = fitted(both[rows], self.labels[rows, at], _PENALTY_OF_RULES, counts[rows])
        return float(weight[-1]) / 2, weight[:-1], bias + _eager(at)


def _of_words(told: csr_matrix, right: NDArray[np.bool_]) -> tuple[Floats, float]:
    """The weights of the clues of words that are worth keeping, and the bias."""
    weight, bias = fitted(told, right, _PENALTY_OF_WORDS)
    return np.where(np.abs(weight) < _LIGHTEST, 0.0, weight), bias


def _eager(at: int) -> float:
    return _EAGER if at < len(Kind) else 0.0


def _value(clue: str) -> float:
    return _PAIR if " " in clue.removeprefix("!not ") else 1.0


def learn(lessons: Sequence[Lesson]) -> Weights:
    """The weights that lessons teach."""
    return _learned(_Taught.by(lessons))


def _learned(taught: _Taught) -> Weights:
    """The weights that all lessons together teach."""
    everyone = np.ones(len(taught.lessons), dtype=bool)
    values = np.array([_value(clue) for clue in taught.words])
    biases: list[int] = []
    of_words: dict[str, list[tuple[int, int]]] = {}
    of_rules: dict[str, list[tuple[int, int]]] = {}
    for at in range(len(LABELS)):
        weight, start = _of_words(taught.of_words, taught.labels[:, at])
        trust, by_rules, bias = taught.weighed(at, everyone)
        biases.append(round((start * trust + bias) * _HUNDREDTHS))
        _note(of_words, at, taught.words, weight * values * trust)
        _note(of_rules, at, taught.rules, by_rules)
    return Weights(
        packed(enumerate(biases)),
        {clue: packed(listed) for clue, listed in of_words.items()},
        {clue: packed(listed) for clue, listed in of_rules.items()},
    )


def _note(
    found: dict[str, list[tuple[int, int]]], at: int, clues: Sequence[str], weights: Floats
) -> None:
    for clue, weight in zip(clues, weights, strict=True):
        hundredths = round(float(weight) * _HUNDREDTHS)
        if hundredths:
            found.setdefault(clue, []).append((at, hundredths))


def written(weights: Weights, seen: Mapping[str, int]) -> str:
    """The table as YAML, clues in the order of the alphabet; ``seen`` says of what it was learned."""
    return "\n".join(
        [
            "# What each clue is worth for each kind and intent, in hundredths: the clue, then places",
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


def _print_hands(taught: _Taught, console: Console) -> None:
    """How each hand is read by weights, and by rules alone, that have learned from the others."""
    table = Table(title="kinds F1, precision, recall; intent right; by rules alone: F1, intent")
    for column in (
        "hand left out",
        "messages",
        "F1",
        "P",
        "R",
        "intent",
        "F1 by rules",
        "by rules",
    ):
        table.add_column(column)
    for hand in HANDS:
        own = taught.hands == hand
        sums = np.zeros((int(own.sum()), len(LABELS)))
        for at in range(len(LABELS)):
            trust, by_rules, bias = taught.weighed(at, ~own)
            sums[:, at] = taught.left_out[own, at] * trust + taught.of_rules[own] @ by_rules + bias
        lessons = [x for x in taught.lessons if x.hand == hand]
        told = [
            decided(
                [*map(float, row * _HUNDREDTHS)],
                *x.by_rule,
                danger=x.signs,
                denied=[kind for kind in Kind if f"trouble not {kind.value}" in x.rules],
            )
            for x, row in zip(lessons, sums, strict=True)
        ]
        intents, kinds = [intent for intent, _ in told], [kinds for _, kinds in told]
        f1, precision, recall = _figures(lessons, kinds)
        by_rules_alone, _, _ = _figures(lessons, [x.by_rule[1] for x in lessons])
        table.add_row(
            hand,
            str(len(lessons)),
            *(f"{figure:.3f}" for figure in (f1, precision, recall, _right(lessons, intents))),
            f"{by_rules_alone:.3f}",
            f"{_right(lessons, [x.by_rule[0] for x in lessons]):.3f}",
        )
    console.print(table)


def _figures(
    lessons: Sequence[Lesson], kinds: Sequence[Sequence[Kind]]
) -> tuple[float, float, float]:
    wanted = [{k for k, has in zip(Kind, x.labels, strict=False) if has} for x in lessons]
    right = sum(len(w & set(k)) for w, k in zip(wanted, kinds, strict=True))
    read, labelled = sum(map(len, kinds)), sum(map(len, wanted))
    return 2 * right / (read + labelled), right / read, right / labelled


def _right(lessons: Sequence[Lesson], intents: Sequence[Intent]) -> float:
    places = [len(Kind) + tuple(Intent).index(intent) for intent in intents]
    return sum(x.labels[at] for x, at in zip(lessons, places, strict=True)) / len(lessons)


if __name__ == "__main__":
    if "--hands" in sys.argv:
        _print_hands(_Taught.by(everything()), Console())
    else:
        lessons = everything()
        _TABLE.write_text(written(learn(lessons), seen_in(lessons)), encoding="utf-8")
