"""The ear's tables are what its messages teach, and it hears what it was not taught."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
import yaml

from rules.model import Intent
from rules.reading.danger_table import danger_table
from rules.reading.ear import Weighing, ear_of
from rules.reading.weights import DANGER, LABELS, unpacked, weights

from .ear_lessons import listened_to
from .hands import FIRST_READ, ON_PURPOSE
from .learn_danger import (
    FALSE_ALARMS,
    LeftOut,
    ear_written,
    heard_left_out,
    heard_of_hands,
    learn_danger,
    least_loud,
    weighed,
)
from .reading_lessons import Lesson, everything

_TOLD = [frozenset(row.split()) for row in ("a b", "a", "b c", "c", "c a", "b")]
_RIGHT = [True, True, False, False, False, True]


def test_a_concept_that_is_seen_once_is_not_learned() -> None:
    """A concept of a single message says nothing about others."""
    told = [*_TOLD, frozenset({"once", "a"})]
    assert set(weighed(told, [*_RIGHT, True]).weights) == {"a", "b", "c"}


def test_a_written_table_is_read_back_as_it_was() -> None:
    """The least loudness and the kinds survive the file."""
    kinds = {"gas": Weighing({"GAS": 12, "SMELL": 12, "COLDW": -4}, -3.0)}
    ear = ear_of(yaml.safe_load(ear_written(128, kinds)), frozenset())
    assert (ear.least, dict(ear.kinds)) == (128, kinds)


def _lesson(text: str, *, danger: bool) -> Lesson:
    labels = tuple(label == DANGER and danger for label in LABELS)
    words = text.split()
    signs = frozenset({"sign gas"} if danger else ())
    return Lesson("seventh", Counter(words), signs, labels, (Intent.OTHER, ()), len(words))


def test_what_words_and_signs_plainly_say_is_learned() -> None:
    """What is only said in dangers speaks for one, and what is only said in others against it."""
    told = [_lesson("smell here", danger=True), _lesson("cold here", danger=False)] * 6
    loud = learn_danger(told)
    assert loud.words["smell"] > 0 > loud.words["cold"]
    assert loud.signs["sign gas"] > 0
    assert not loud.words.get("here")


@pytest.mark.parametrize("quieter_by", [0, 10])
def test_few_harmless_messages_are_louder_than_the_least_danger(quieter_by: int) -> None:
    """Of a hundred from 0 to 99, as many as may be; those meant to sound like danger do not count."""
    loud = np.arange(100.0) - quieter_by
    hands = np.array(["seventh"] * 100 + [ON_PURPOSE[0]] * 100)
    heard = LeftOut(hands, np.zeros(200, dtype=bool), np.concatenate([loud, loud + 1000]))
    assert (loud > least_loud(heard)).sum() == round(FALSE_ALARMS * 100)


def test_dangers_of_a_hand_not_learned_from_are_heard_and_the_table_is_what_is_taught_now() -> None:
    """Of strangers nine of ten dangers are heard at few false alarms; the table on file is not stale.

    Whoever changes messages or words learns the tables anew; the last digit may differ by machine.
    """
    told = listened_to(everything())
    left_out = heard_left_out(told)
    heard = {hand: (recall, alarms) for hand, recall, alarms in heard_of_hands(left_out)}
    assert heard.keys() == set(FIRST_READ)
    assert min(recall for recall, _ in heard.values()) > 0.9
    usual = [hand for hand in FIRST_READ if hand not in ON_PURPOSE]
    assert np.mean([heard[hand][1] for hand in usual]) <= FALSE_ALARMS + 0.005
    loud = learn_danger(told)
    assert abs(least_loud(left_out) - loud.bias - danger_table().ear.least) <= 3
    kept = {clue: unpacked(weight)[-1] for clue, weight in weights().words.items()}
    clues = loud.words.keys() | kept.keys()
    alike = sum(abs(loud.words.get(clue, 0) - kept.get(clue, 0)) <= 1 for clue in clues)
    assert alike / len(clues) > 0.99
