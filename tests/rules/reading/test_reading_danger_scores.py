"""How many labelled dangers are heard, and how many harmless texts are taken for one: floors.

The messages and lines are our own invention (common practice, no source), and the reader has learned
from all of them: the floors guard against going back. ``tests/evaluation_reading`` has the figures of
first readings.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from rules.reading import danger_in
from rules.reading.danger import hear
from rules.reading.folding import fold

_FOLDER = Path(__file__).parents[3] / "fixtures" / "messages"
_LEAST_RECALL = 0.985
_MOST_FALSE_ALARMS = 0.03


def _texts(name: str) -> tuple[list[str], list[str]]:
    """The dangerous and the harmless texts of a file of messages."""
    rows = [json.loads(line) for line in (_FOLDER / name).read_text("utf-8").splitlines()]
    return (
        [row["text"] for row in rows if row["danger"]],
        [row["text"] for row in rows if not row["danger"]],
    )


def _lines(name: str) -> list[str]:
    return (_FOLDER / name).read_text("utf-8").splitlines()


def _share(texts: list[str], heard: Callable[[str], object]) -> float:
    return sum(bool(heard(text)) for text in texts) / len(texts)


@pytest.mark.parametrize(
    "name",
    [
        "building.jsonl",
        "building_other_hand.jsonl",
        "building_other_hand_second.jsonl",
        "building_third_hand.jsonl",
        "building_danger_fourth.jsonl",
        "building_mixture_ninth.jsonl",
        "building_intents_tenth.jsonl",
    ],
)
def test_dangers_are_heard_and_few_other_texts_are_taken_for_one(name: str) -> None:
    """Each file is read at least as well as it was."""
    dangers, harmless = _texts(name)
    missed = [text for text in dangers if not danger_in(text)]
    alarmed = [text for text in harmless if danger_in(text)]
    assert len(missed) <= (1 - _LEAST_RECALL) * len(dangers), missed
    assert len(alarmed) <= _MOST_FALSE_ALARMS * len(harmless), alarmed


def test_single_lines_of_danger_are_heard_and_lookalikes_rarely() -> None:
    """The two lists, written to be hard: dangers told in passing, harmless texts that sound like one."""
    assert _share(_lines("danger_told.txt"), danger_in) >= _LEAST_RECALL
    # Twice the usual share: every line was chosen because it sounds like a danger.
    assert _share(_lines("danger_lookalikes.txt"), danger_in) <= 2 * _MOST_FALSE_ALARMS


def test_signs_alone_hear_nine_of_ten_and_the_ear_most_of_the_rest() -> None:
    """Neither carries the other: the signs are not idle, and the ear hears what they miss."""
    dangers, _ = _texts("building_danger_fourth.jsonl")
    by_sign = [text for text in dangers if hear(fold(text)).told]
    rest = sorted(set(dangers) - set(by_sign))
    assert len(by_sign) >= 0.9 * len(dangers)
    assert rest
    assert _share(rest, danger_in) >= 0.8


def test_a_reader_that_cries_danger_or_nothing_misses_the_floors() -> None:
    """The floors can be missed, on either side."""
    dangers, harmless = _texts("building_danger_fourth.jsonl")
    assert _share(dangers, lambda _: ()) < _LEAST_RECALL
    assert _share(harmless, lambda _: ("gas",)) > _MOST_FALSE_ALARMS
