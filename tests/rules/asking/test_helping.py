"""What a household is told to put right itself; common practice, no source."""

from __future__ import annotations

import pytest
from oak_street import HOME, at, knowing, words_of

from rules.asking.conversation import Heard, State, step
from rules.model import Kind

NEXT = "q_rooms"
HELP = {
    ("q_mode", "off"): "set the thermostat to HEAT",
    ("q_mode", "cool"): "set the thermostat to HEAT",
    ("q_screen", "blank"): "new batteries",
    ("q_screen", "low_battery"): "new batteries",
    ("q_window", "open"): "shut the window",
    ("q_block", "blocked"): "move it away",
}


def _answered(topic: str, answer: str, **more: object) -> str:
    asked = at(State.ASKING, current=topic, asked=(topic,), home=HOME)
    known = knowing(answer=answer, next_question=NEXT, **{"batteries": True, **more})
    return words_of(step(asked, Heard.ANSWER, known))


@pytest.mark.parametrize(("told", "help_with"), list(HELP.items()))
def test_what_can_be_put_right_is_said_before_the_next_question(
    told: tuple[str, str], help_with: str
) -> None:
    """The thermostat is off: set it to HEAT. What is asked next is asked all the same."""
    words = _answered(*told)
    assert help_with in words
    assert words.index(help_with) < words.index("Is it the whole home")


@pytest.mark.parametrize(
    ("topic", "answer"), [("q_mode", "heat"), ("q_screen", "normal"), ("q_window", "closed")]
)
def test_nothing_is_suggested_where_nothing_is_wrong(topic: str, answer: str) -> None:
    """A thermostat on HEAT needs no advice."""
    assert _answered(topic, answer) == _answered("q_block", "clear")


def test_nobody_changes_batteries_that_are_not_there() -> None:
    """A wired thermostat with a dark screen has lost its power; that is the technician's."""
    assert "batteries" not in _answered("q_screen", "blank", batteries=False)


def test_a_hot_home_keeps_its_window_open() -> None:
    """Too hot with a window open: the window helps."""
    hot = frozenset({Kind.TOO_HOT})
    assert "window" not in _answered("q_window", "open", kinds=hot)
