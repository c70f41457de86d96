"""The conversation where somebody is in danger: leave now, stay out, and a person."""

from __future__ import annotations

import pytest
from oak_street import ASKED_HOT, CHECKING, at, knowing, words_of

from rules.asking.conversation import (
    Heard,
    State,
    danger_reply,
    step,
)


@pytest.mark.parametrize("state", [s for s in State if s is not State.STOPPED])
@pytest.mark.parametrize("event", [Heard.RESOLVED, Heard.CANCEL])
def test_no_text_ends_a_danger(state: State, event: Heard) -> None:
    """Whoever says that the gas is gone is told to stay out until the crew says so; a person decides."""
    result = step(at(state), event, knowing(danger_open=("gas",), leave_now=True))
    assert "Stay out until the fire or gas crew says it is safe" in words_of(result)
    assert result.hand_to_person
    assert not result.close_complaint
    assert result.conversation.state is State.PERSON
    burn = step(at(state), event, knowing(danger_open=("scald",)))
    assert "gave your text to a person" in words_of(burn)


def test_a_word_from_outside_is_no_reason_to_go_in() -> None:
    """ "Yes we are outside" after gas: stay out, and a person has it."""
    outside = knowing(danger_open=("gas",), leave_now=True, next_question="q_read")
    result = step(at(State.PERSON), Heard.ANSWER, outside)
    assert words_of(result).startswith("Stay out")
    assert result.hand_to_person
    assert words_of(step(at(State.PERSON), Heard.THANKS, outside)).startswith("Stay out")


@pytest.mark.parametrize("state", [s for s in State if s is not State.STOPPED])
def test_no_phone_of_that_home_is_asked_anything(state: State) -> None:
    """The other half of the household is told to stay out, and no check or reminder sends it in."""
    outside = knowing(danger_open=("gas",), leave_now=True, next_question="q_read")
    current = "q_down" if state in (State.WAITING, State.ASKING) else None
    for event in (Heard.COMPLAINT, Heard.OTHER, Heard.STATUS):
        result = step(at(state, current=current), event, outside)
        assert words_of(result).startswith("Stay out")
    for timer in (Heard.TIMER_CHECK, Heard.TIMER_REMIND):
        assert step(at(state, current=current), timer, outside).says == ()


@pytest.mark.parametrize("state", list(State))
def test_danger_comes_first_in_every_state(state: State) -> None:
    """Danger: the leave-now text alone, urgent, no question, and a person."""
    result = step(at(state), Heard.COMPLAINT, knowing(danger=("gas",), next_question="q_hot"))
    assert [say.text for say in result.says] == [danger_reply(("gas",), "en")]
    assert result.says[0].urgent
    assert result.says[0].asks is None
    assert result.hand_to_person
    assert not result.close_complaint
    expected = State.STOPPED if state is State.STOPPED else State.PERSON
    assert result.conversation.state is expected


def test_danger_with_stop_is_answered_and_then_silent() -> None:
    """STOP in a text about danger still brings the leave-now text."""
    result = step(ASKED_HOT, Heard.STOP, knowing(danger=("co",)))
    assert len(result.says) == 1
    assert result.conversation.state is State.STOPPED


def test_danger_in_the_situation_of_a_timer_says_nothing_new() -> None:
    """Only a text can speak of danger; a timer never repeats it."""
    assert step(CHECKING, Heard.TIMER_CHECK, knowing(danger=("gas",))).says[-1].asks is not None
