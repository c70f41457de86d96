"""The ear's table is what its messages teach, and it hears what it was not taught."""

from __future__ import annotations

import yaml

from rules.reading.danger_table import danger_table
from rules.reading.ear import Weighing, ear_of

from .ear_lessons import lessons_of
from .hands import FIRST_READ, MIXTURES
from .learn_danger import FALSE_ALARMS, heard_left_out, heard_of_hands, learned, weighed, written

_TOLD = [frozenset(row.split()) for row in ("a b", "a", "b c", "c", "c a", "b")]
_RIGHT = [True, True, False, False, False, True]


def test_what_is_seen_once_is_not_learned() -> None:
    """A clue of a single message says nothing about others."""
    told = [*_TOLD, frozenset({"once", "a"})]
    assert set(weighed(told, [*_RIGHT, True]).weights) == {"a", "b", "c"}


def test_a_written_table_is_read_back_as_it_was() -> None:
    """Weights, biases, signs and kinds survive the file."""
    table = {
        "danger": Weighing({"GAS & SMELL": 31, "gas smell": -4, "yes": 31}, -20.5),
        "signs": {"any": 12, "taken_back": -7},
        "kinds": {"gas": Weighing({"GAS": 12}, -3.0)},
    }
    unweighed = danger_table().ear.unweighed
    ear = ear_of(yaml.safe_load(written(table)), unweighed)
    assert (ear.danger, ear.signs, dict(ear.kinds)) == (
        table["danger"],
        table["signs"],
        table["kinds"],
    )


def test_dangers_of_a_hand_not_learned_from_are_heard_and_the_table_is_what_is_taught_now() -> None:
    """Of strangers nine of ten dangers are heard at few false alarms; the table on file is not stale.

    Whoever changes messages or words learns the ear anew; the last digit may differ by machine.
    """
    lessons = lessons_of()
    left_out = heard_left_out(lessons)
    heard = {hand: (recall, alarms) for hand, recall, alarms in heard_of_hands(left_out)}
    assert heard.keys() == set(FIRST_READ)
    assert min(recall for recall, _ in heard.values()) > 0.9
    assert max(heard[hand][1] for hand in MIXTURES) <= FALSE_ALARMS
    taught = learned(lessons, left_out)["danger"].weights
    kept = danger_table().ear.danger.weights
    clues = taught.keys() | kept.keys()
    alike = sum(abs(taught.get(clue, 0) - kept.get(clue, 0)) <= 1 for clue in clues)
    assert alike / len(clues) > 0.99
