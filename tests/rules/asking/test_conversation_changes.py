"""Taking an answer back, agreeing to what we understood, codes, and who does not answer."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from oak_street import HOME, at, knowing, words_of

from rules.asking.conversation import (
    READ_BACK,
    Conversation,
    Heard,
    Situation,
    State,
    step,
    taken_back,
    while_it_counts,
)
from rules.model import Answered, ApartmentId, TopicId

WHOLE_HOME = Answered(ApartmentId("3B"), TopicId("q_rooms"), "all")
KNOWN = knowing(facts=(WHOLE_HOME,))
TWO_ASKED = at(State.ASKING, current="q_hot", asked=("q_rooms", "q_hot"))


def test_back_puts_the_question_before_again() -> None:
    """BACK takes the last answer out and asks it again; the question that was out may come later."""
    assert taken_back(TWO_ASKED) == "q_rooms"
    result = step(TWO_ASKED, Heard.BACK, KNOWN)
    assert result.conversation.state is State.ASKING
    assert result.conversation.current == "q_rooms"
    assert result.conversation.asked == ("q_rooms",)
    assert words_of(result).startswith("OK, we took your last answer out.")
    assert result.says[-1].asks is not None
    assert {t.purpose for t in result.timers} == {"remind", "close"}


def test_back_twice_stops_at_the_first_question() -> None:
    """Before the first question there is nothing to take back; it stays out."""
    once = step(TWO_ASKED, Heard.BACK, KNOWN).conversation
    assert taken_back(once) is None
    twice = step(once, Heard.BACK, KNOWN)
    assert twice.conversation == once
    assert "no answer to take out" in words_of(twice)
    assert twice.says[-1].asks is not None


@pytest.mark.parametrize("state", [State.TOLD, State.CLOSED, State.WAITING, State.READ_BACK])
def test_back_works_after_the_last_question_too(state: State) -> None:
    """The last answer can be taken back while a check runs, at the read-back, and after the end."""
    current = {State.WAITING: "q_up", State.READ_BACK: READ_BACK}.get(state)
    asked = ("q_hot", *((current,) if current else ()))
    before = replace(TWO_ASKED, state=state, asked=asked, current=current)
    result = step(before, Heard.BACK, KNOWN)
    assert result.conversation.current == "q_hot"
    assert result.conversation.asked == ("q_hot",)


@pytest.mark.parametrize("state", [State.NEW, State.PLACE, State.WHICH, State.REPAIRED])
def test_back_has_nothing_to_take_where_nothing_was_answered(state: State) -> None:
    """Without answers BACK says so and changes nothing."""
    before = Conversation(state=state, home=HOME)
    result = step(before, Heard.BACK, KNOWN)
    assert result.conversation == before
    assert "no answer to take out" in words_of(result)


def test_back_without_an_open_report_changes_nothing() -> None:
    """After the report has ended its answers stay as they were."""
    closed = replace(TWO_ASKED, state=State.CLOSED, current=None)
    assert step(closed, Heard.BACK, replace(KNOWN, reference="")).conversation == closed


def test_the_end_is_read_back_first() -> None:
    """With two things understood we ask whether they are right, then tell what happens."""
    asked = step(TWO_ASKED, Heard.ANSWER, replace(KNOWN, answer="cold"))
    assert asked.conversation.state is State.READ_BACK
    assert "We have: too cold, whole home." in words_of(asked)
    assert "7 pm today" in words_of(asked)
    right = step(asked.conversation, Heard.ANSWER, replace(KNOWN, answer="right"))
    assert right.conversation.state is State.TOLD
    assert "T-7F3K" in words_of(right)
    unsure = step(asked.conversation, Heard.ANSWER, replace(KNOWN, answer="unknown"))
    assert unsure.conversation.state is State.TOLD
    thanks = step(asked.conversation, Heard.THANKS, KNOWN)
    assert thanks.conversation.state is State.TOLD


def test_the_first_answer_may_be_the_read_back() -> None:
    """A first text that says all there is to say gets its report, the time, and the read-back."""
    result = step(Conversation(), Heard.COMPLAINT, KNOWN)
    assert result.conversation.state is State.READ_BACK
    assert "T-7F3K" in words_of(result)
    assert "7 pm today" in words_of(result)


@pytest.mark.parametrize(
    "situation",
    [
        replace(KNOWN, facts=()),  # one thing
        replace(KNOWN, known_to_us=True),
        replace(KNOWN, reference=""),
    ],
)
def test_nothing_is_read_back_without_need(situation: Situation) -> None:
    """Not one thing alone, not what we know already, not without a report."""
    result = step(TWO_ASKED, Heard.ANSWER, situation)
    assert result.conversation.state is State.TOLD


def test_it_is_read_back_once_and_counts_as_a_question() -> None:
    """A complaint has five questions in all, the read-back included."""
    again = replace(TWO_ASKED, asked=(READ_BACK, *TWO_ASKED.asked))
    assert step(again, Heard.ANSWER, KNOWN).conversation.state is State.TOLD
    five = replace(TWO_ASKED, asked=("q_dhw", "q_start", "q_read", "q_rooms", "q_hot"))
    told = step(five, Heard.ANSWER, KNOWN)
    assert told.conversation.state is State.TOLD
    assert "We have: too cold, whole home. Tell us if that is wrong." in words_of(told)
    assert not any(say.asks for say in told.says)


def test_a_change_is_told_in_words_or_goes_to_a_person() -> None:
    """ "2" asks what is wrong; more about it is noted; what says nothing goes to a person."""
    out = step(TWO_ASKED, Heard.ANSWER, KNOWN).conversation
    change = step(out, Heard.ANSWER, replace(KNOWN, answer="change"))
    assert "What is wrong in it?" in words_of(change)
    told = step(change.conversation, Heard.COMPLAINT, KNOWN)
    assert "added this" in words_of(told)
    assert step(change.conversation, Heard.OTHER, KNOWN).hand_to_person
    assert step(change.conversation, Heard.BACK, KNOWN).conversation.current == "q_hot"


def test_an_odd_answer_to_the_read_back_is_asked_once_more() -> None:
    """In other words once, then a person; nobody is reminded, silence ends it quietly."""
    first = step(TWO_ASKED, Heard.ANSWER, KNOWN)
    out = first.conversation
    assert [timer.purpose for timer in first.timers] == ["close"]
    odd = step(out, Heard.OTHER, KNOWN)
    assert "Did we get it right?" in words_of(odd)
    assert step(odd.conversation, Heard.OTHER, KNOWN).hand_to_person
    assert step(out, Heard.TIMER_REMIND, KNOWN).says == ()  # silence is a yes
    assert not step(out, Heard.TIMER_CLOSE, KNOWN).hand_to_person


def test_the_read_back_changes_language() -> None:
    """ESPAÑOL puts it again in Spanish."""
    out = step(TWO_ASKED, Heard.ANSWER, KNOWN).conversation
    spanish = step(
        out, Heard.LANGUAGE, replace(KNOWN, language="es", respond_by_text="hoy a las 7 pm")
    )
    assert "Tenemos: mucho frío, toda la casa." in words_of(spanish)
    assert "\n1 correcto\n2 cambiar" in words_of(spanish)


def test_after_one_reminder_a_person() -> None:
    """A question that stays open after its reminder is brought to a person; the report stays."""
    reminded = step(TWO_ASKED, Heard.TIMER_REMIND, KNOWN)
    assert reminded.says
    end = step(reminded.conversation, Heard.TIMER_CLOSE, KNOWN)
    assert end.hand_to_person
    assert end.says == ()
    assert end.conversation.state is State.CLOSED
    assert not end.close_complaint


@pytest.mark.parametrize(
    ("code", "words", "person"),
    [("right", "Now we know", False), ("wrong", "not the code", False), ("void", "too old", True)],
)
def test_a_code_leaves_the_question_out(code: Any, words: str, person: bool) -> None:
    """Right, wrong or too old: it is said, and the question is put again."""
    result = step(TWO_ASKED, Heard.CODE, replace(KNOWN, code=code))
    assert words in words_of(result)
    assert result.conversation == TWO_ASKED
    assert result.says[-1].asks is not None
    assert result.hand_to_person is person


def test_reply_to_nothing_is_prompted_once() -> None:
    """A word out of nowhere is asked about with choices, once more in other words, then a person."""
    nothing = replace(KNOWN, reference="", kinds=frozenset(), facts=())
    first = step(Conversation(), Heard.ANSWER, nothing)
    assert first.says[0].text.startswith("Heat line, 12 Oak St. What is wrong?\n1 too cold")
    assert first.says[0].asks is not None
    assert first.timers == ()  # there is no report that waits for an answer
    second = step(first.conversation, Heard.OTHER, nothing)
    assert second.says[0].text != first.says[0].text
    assert not second.hand_to_person
    assert second.timers == ()
    assert step(second.conversation, Heard.OTHER, nothing).hand_to_person


def test_a_report_without_a_trouble_is_asked_what_is_wrong_then_goes_on() -> None:
    """It counts as one of the five; its answer leads to the next question, not to a new greeting."""
    unnamed = replace(KNOWN, kinds=frozenset(), unnamed=True, next_question="q_rooms")
    asked = step(Conversation(), Heard.COMPLAINT, unnamed)
    assert (asked.conversation.state, asked.conversation.asked) == (State.WHAT, ("kind",))
    assert {t.purpose for t in asked.timers} == {"remind", "close"}
    named = step(
        asked.conversation, Heard.ANSWER, replace(KNOWN, next_question="q_rooms", answer="too_cold")
    )
    assert named.conversation.asked == ("kind", "q_rooms")
    assert "Heat line" not in words_of(named)


def test_silence_keeps_the_question_for_a_late_answer() -> None:
    """The conversation closes and a person is told; on a page the question stays where it is."""
    closed = step(TWO_ASKED, Heard.TIMER_CLOSE, KNOWN)
    assert (closed.conversation.state, closed.conversation.current) == (State.CLOSED, "q_hot")
    assert closed.hand_to_person
    late = step(closed.conversation, Heard.ANSWER, replace(KNOWN, answer="hot"))
    assert "added this to your report" in words_of(late)
    on_page = step(TWO_ASKED, Heard.TIMER_CLOSE, replace(KNOWN, on_page=True))
    assert (on_page.conversation, on_page.hand_to_person) == (TWO_ASKED, True)
    assert step(TWO_ASKED, Heard.TIMER_REMIND, replace(KNOWN, on_page=True)).says == ()


@pytest.mark.parametrize(
    ("topic", "hours", "counts"),
    [("q_hot", 160, True), ("q_hot", 170, False), ("q_down", 11, True), ("q_down", 13, False)],
)
def test_how_long_a_late_answer_counts(topic: str, hours: float, counts: bool) -> None:
    """A week; to a thermostat check half a day (common practice, no source)."""
    closed = replace(TWO_ASKED, state=State.CLOSED, current=TopicId(topic))
    assert (while_it_counts(closed, hours * 60).current is not None) is counts
    assert while_it_counts(TWO_ASKED, 1e6) == TWO_ASKED  # a question that is out stays out


def test_a_late_word_on_the_repair_is_judged() -> None:
    """ "No" after the question was closed for silence opens the report again."""
    closed = Conversation(state=State.CLOSED, home=HOME, current=TopicId("right_now"))
    assert step(closed, Heard.ANSWER, replace(KNOWN, answer="no")).reopen
    assert not step(closed, Heard.ANSWER, replace(KNOWN, answer="yes")).reopen
