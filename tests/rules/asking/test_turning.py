"""A person asks for a turn of the thermostat: what is said, waited for, and left alone."""

from __future__ import annotations

import pytest

from rules.asking.conversation import Conversation, Heard, Situation, State, Step, step
from rules.asking.turning import ask_from_afar, ask_while_watched, set_back
from rules.model import TopicId

DOWN, UP = TopicId("turn_down"), TopicId("turn_up")
FIN_TUBE = Situation(emitter="fin_tube", reference="T-7F3K", respond_by_text="7 p.m.")
FIVE = tuple(TopicId(t) for t in ("q_hot", "q_down", "q_read", "q_rooms", "q_window"))


def answered(c: Conversation, answer: str, s: Situation = FIN_TUBE) -> Conversation:
    """The conversation after an answer in the meaning given."""
    return heard(c, answer, s).conversation


def heard(c: Conversation, answer: str, s: Situation = FIN_TUBE) -> Step:
    """The step that an answer leads to."""
    values = {name: getattr(s, name) for name in ("emitter", "reference", "respond_by_text")}
    return step(c, Heard.ANSWER, Situation(**values, answer=answer))


@pytest.mark.parametrize(
    ("topic", "emitter", "minutes", "check"),
    # Waits: fin-tube 30 and 15 min, iron's pipe 30 and 45 min (own calculation from heat content).
    [
        (DOWN, "fin_tube", 30, "q_down"),
        (UP, "fin_tube", 15, "q_up"),
        (DOWN, "cast_iron", 30, "q_down"),
        (UP, "cast_iron", 45, "q_up"),
    ],
)
def test_the_wait_begins_when_it_is_turned(
    topic: TopicId, emitter: str, minutes: float, check: str
) -> None:
    """Asked first whether it is done; only then the check's wait runs, and its question follows."""
    here = Situation(emitter=emitter, reference="T-7F3K")
    asked = ask_while_watched(Conversation(), topic)
    assert asked.says[0].asks is not None
    assert [timer.purpose for timer in asked.timers] == ["close"]

    done = heard(asked.conversation, "done", here)
    assert [(t.purpose, t.minutes) for t in done.timers] == [("check", minutes)]
    assert done.conversation.state is State.WAITING
    question = step(done.conversation, Heard.TIMER_CHECK, here)
    assert question.says[0].asks is not None
    assert question.says[0].asks.topic == check


def test_a_person_may_ask_beyond_the_machines_five_and_again() -> None:
    """Five questions bind the machine, not a technician; what was asked before may be asked again."""
    c = Conversation(state=State.TOLD, asked=FIVE)

    done = answered(ask_while_watched(c, DOWN).conversation, "done")

    assert done.current == "q_down"
    assert sorted(done.asked) == sorted(FIVE)


@pytest.mark.parametrize("answer", ["cannot", "unknown"])
def test_a_no_is_the_end_of_it(answer: str) -> None:
    """Whoever cannot is asked nothing more, and nothing is waited for."""
    taken = heard(ask_while_watched(Conversation(), UP).conversation, answer)

    assert taken.conversation.state is State.TOLD
    assert taken.timers == ()
    assert taken.says[0].asks is None


def test_a_heated_floor_is_only_watched() -> None:
    """It changes over hours: from afar nothing is asked, and after a turn nothing is waited for."""
    floor = Situation(emitter="radiant_floor", reference="T-7F3K")
    assert ask_from_afar(Conversation(), floor, DOWN) is None

    taken = heard(ask_while_watched(Conversation(), DOWN).conversation, "done", floor)
    assert (taken.conversation.state, taken.timers) == (State.TOLD, ())


def test_from_afar_it_is_the_machines_own_check() -> None:
    """What to do, when we write again, and no word of anybody at the valve."""
    taken = ask_from_afar(Conversation(), FIN_TUBE, UP)

    assert taken is not None
    assert [(t.purpose, t.minutes) for t in taken.timers] == [("check", 15)]
    assert "technician" not in taken.says[0].text
    assert "5 degrees over" in taken.says[0].text


def test_more_of_the_complaint_in_place_of_an_answer_goes_on_as_ever() -> None:
    """A household that writes on about its complaint is not held to the thermostat."""
    c = ask_while_watched(Conversation(), DOWN).conversation
    told = step(c, Heard.COMPLAINT, FIN_TUBE)

    assert told.conversation.state is State.TOLD


@pytest.mark.parametrize(
    ("current", "state", "after"),
    [
        ("turn_down", State.ASKING, State.TOLD),
        ("q_up", State.WAITING, State.TOLD),
        ("q_hot", State.ASKING, State.ASKING),
        (None, State.PERSON, State.PERSON),
    ],
)
def test_setting_back_ends_only_what_was_asked_for(
    current: str | None, state: State, after: State
) -> None:
    """The thanks always go out; another question that is out meanwhile stays out."""
    topic = TopicId(current) if current else None

    taken = set_back(Conversation(state=state, current=topic, language="es"))

    assert taken.conversation.state is after
    assert taken.says[0].text == "Gracias. Ya puede poner el termostato como le guste."
