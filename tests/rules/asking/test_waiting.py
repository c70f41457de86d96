"""While a thermostat check runs: nothing is asked, so a number or a yes answers nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oak_street import ASKED_HOT, CHECKING, knowing, words_of

from rules.asking.conversation import (
    Conversation,
    Heard,
    State,
    answer_counts,
    step,
    to_do,
)

KNOWN = knowing(kinds=frozenset(), check_minutes=12)


@pytest.mark.parametrize(
    ("answer", "counts"),
    [
        ("cooling", True),
        ("cannot_tell", True),
        ("unknown", True),
        ("still_hot", False),
        (None, False),
    ],
)
def test_early_answers_count_when_they_can_be_true(answer: str | None, counts: bool) -> None:
    """Before the wait is over "cooler" is evidence and "still hot" is not."""
    assert answer_counts(CHECKING, answer) is counts
    result = step(CHECKING, Heard.ANSWER, replace(KNOWN, answer=answer))
    assert (result.conversation.state is State.WAITING) is not counts


def test_what_is_to_be_done_while_a_check_runs() -> None:
    """Turning it down or up is what can be done or not; elsewhere there is nothing to do."""
    assert to_do(CHECKING) == "turn_down"
    assert to_do(replace(CHECKING, current="q_up")) == "turn_up"
    assert to_do(replace(CHECKING, state=State.ASKING)) is None
    assert to_do(Conversation()) is None


@pytest.mark.parametrize(
    ("event", "answer"),
    [(Heard.ANSWER, "done"), (Heard.THANKS, None), (Heard.COMPLAINT, None), (Heard.OTHER, None)],
)
def test_done_keeps_the_timer_and_says_when_we_write(event: Heard, answer: str | None) -> None:
    """Done, thanks or more words: when we write again; the check goes on and its timer stays."""
    result = step(CHECKING, event, replace(KNOWN, answer=answer))
    assert "We write again in 12 min." in words_of(result)
    assert result.conversation == CHECKING
    assert result.timers == ()
    late = step(CHECKING, event, replace(KNOWN, answer=answer, check_minutes=None))
    assert "We write again soon." in words_of(late)


def test_whoever_cannot_is_asked_the_next_thing() -> None:
    """ "I can't": no blame, and the next question instead of the check."""
    result = step(CHECKING, Heard.ANSWER, replace(KNOWN, answer="cannot", next_question="q_rooms"))
    assert words_of(result).startswith("That is fine. Please leave it as it is.")
    assert result.conversation.current == "q_rooms"
    assert result.conversation.asked == ("q_down", "q_rooms")
    assert step(result.conversation, Heard.TIMER_CHECK, KNOWN).says == ()


def test_too_early_to_tell() -> None:
    """ "Still hot" after a minute: it needs some more time."""
    result = step(CHECKING, Heard.ANSWER, replace(KNOWN, answer="still_hot"))
    assert words_of(result) == "Thank you. It needs some more time. We write again in 12 min."
    assert result.conversation == CHECKING


def test_an_oven_in_use_is_named_first() -> None:
    """Somebody who heats with the oven meanwhile is told to turn it off."""
    result = step(CHECKING, Heard.COMPLAINT, replace(KNOWN, oven_in_use=True))
    assert words_of(result).startswith("Please turn the oven off.")


def test_another_home_is_told_of_its_report_and_the_check_goes_on() -> None:
    """Somebody with two homes reports for the other one meanwhile."""
    other = replace(KNOWN, homes=(("oak-12", "1A"),), reference="T-8888", next_question="q_read")
    result = step(CHECKING, Heard.COMPLAINT, other)
    assert "T-8888" in words_of(result)
    assert "We write again in 12 min." in words_of(result)
    assert result.conversation == CHECKING


def test_nobody_is_told_to_set_what_no_room_wants() -> None:
    """An age that was taken for the room's temperature is not raised by five degrees."""

    def told(room_f: float) -> str:
        known = knowing(next_question="q_up", room_f=room_f, answer="cold")
        return words_of(step(ASKED_HOT, Heard.ANSWER, known))

    assert "66 F" in told(61.0)
    assert "90 F" not in told(85.0)
    assert "5 degrees over what it shows" in told(85.0)
