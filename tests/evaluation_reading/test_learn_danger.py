"""The ear's table is the optimum it says it is, and it hears what it was not taught."""

from __future__ import annotations

from math import exp, sqrt
from pathlib import Path

import pytest
import yaml

from rules.reading.danger_table import danger_table
from rules.reading.ear import Weighing, ear_of

from . import learn_danger
from .learn_danger import fitted, learned, lessons_of, weighed, written

_MESSAGES = Path(__file__).parents[2] / "fixtures" / "messages"
_TOLD = [frozenset(row.split()) for row in ("a b", "a", "b c", "c", "c a", "b")]
_RIGHT = [True, True, False, False, False, True]


def test_weights_are_where_the_slope_of_the_penalized_loss_is_zero() -> None:
    """The slope, written out for six rows by the textbook's formula, vanishes at the weights found."""
    weights, bias = fitted(_TOLD, _RIGHT, ["a", "b", "c"])
    by_clue = dict(zip("abc", (float(w) for w in weights), strict=True))
    slopes = {clue: 0.1 * weight for clue, weight in by_clue.items()} | {"bias": 0.0}
    for row, right in zip(_TOLD, _RIGHT, strict=True):
        score = sum(by_clue[clue] for clue in row) / sqrt(len(row)) + bias
        # Three of six are right, so each row counts once.
        miss = 1 / (1 + exp(-score)) - right
        slopes["bias"] += miss
        for clue in row:
            slopes[clue] += miss / sqrt(len(row))
    assert slopes == pytest.approx(dict.fromkeys(slopes, 0.0), abs=1e-6)


def test_what_is_seen_once_is_not_learned() -> None:
    """A clue of a single message says nothing about others."""
    told = [*_TOLD, frozenset({"once", "a"})]
    assert set(weighed(told, [*_RIGHT, True]).weights) == {"a", "b", "c"}


def test_a_written_table_is_read_back_as_it_was() -> None:
    """Weights, biases and kinds survive the file."""
    table = {
        "danger": Weighing({"GAS & SMELL": 31, "gas smell": -4, "yes": 31}, -20.5),
        "kinds": {"gas": Weighing({"GAS": 12}, -3.0)},
    }
    unweighed = danger_table().ear.unweighed
    ear = ear_of(yaml.safe_load(written(table)), unweighed)
    assert (ear.danger, dict(ear.kinds)) == (table["danger"], table["kinds"])


def test_an_ear_hears_dangers_of_lines_it_was_not_taught() -> None:
    """Taught with every other lesson, it hears four of five dangers of the rest, and few lookalikes."""
    lessons = lessons_of(_MESSAGES)
    ear = learned(lessons[::2])["danger"]
    rest = lessons[1::2]
    heard = [ear.score(lesson.clues) > 0 for lesson in rest if lesson.danger]
    alarmed = [ear.score(x.clues) > 0 for x in rest if not x.danger and not x.told]
    assert sum(heard) / len(heard) > 0.8
    assert sum(alarmed) / len(alarmed) < 1.5 * learn_danger.FALSE_ALARMS


def test_the_table_is_what_the_messages_teach_now() -> None:
    """Whoever changes messages or words learns the ear anew; the last digit may differ by machine."""
    taught = learned(lessons_of(_MESSAGES))["danger"].weights
    kept = danger_table().ear.danger.weights
    clues = taught.keys() | kept.keys()
    alike = sum(abs(taught.get(clue, 0) - kept.get(clue, 0)) <= 1 for clue in clues)
    assert alike / len(clues) > 0.99
