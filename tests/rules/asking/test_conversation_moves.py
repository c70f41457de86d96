"""The conversation, move by move."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from oak_street import ASKED_HOT, CHECKING, COLD, HOME, OTHER_HOME, at, knowing, words_of

from rules.asking.conversation import (
    TRANSITIONS,
    Conversation,
    Heard,
    Situation,
    State,
    Timer,
    answer_counts,
    step,
)
from rules.asking.moves import MOVES
from rules.asking.wording import fits_one_text
from rules.model import Kind, TopicId


def test_every_state_and_event_has_a_move() -> None:
    """The table has no hole and names only moves that exist; every move is used."""
    assert set(TRANSITIONS) == {(state, heard) for state in State for heard in Heard}
    assert set(TRANSITIONS.values()) == set(MOVES)


def test_first_text_names_us_gives_the_report_and_asks_one_thing() -> None:
    """A complaint is answered with who we are, the report, the safety line, and one question."""
    result = step(Conversation(), Heard.COMPLAINT, knowing(next_question="q_hot"))
    assert result.conversation.state is State.ASKING
    assert result.says[0].text.startswith("Heat line, 12 Oak St. Your report is T-7F3K.")
    assert "CO alarm sounds, go out and call 911." in words_of(result)
    asks = [say.asks for say in result.says if say.asks]
    assert [(a.topic, a.choices) for a in asks] == [
        ("q_hot", (("1", "hot"), ("2", "warm"), ("3", "cold"), ("0", "unknown")))
    ]
    assert result.says[-1].text.endswith("\n1 hot\n2 warm\n3 cold\n0 not sure")
    assert {t.purpose for t in result.timers} == {"remind", "close"}
    assert all(fits_one_text(say.text) for say in result.says)


def test_no_safety_line_where_no_danger_is_possible() -> None:
    """Too hot carries no gas line; a leak warns of electrics; an oven in use is named."""
    hot = knowing(next_question="q_hot", kinds=frozenset({Kind.TOO_HOT}))
    leak = knowing(kinds=frozenset({Kind.LEAK}))
    assert "911" not in words_of(step(Conversation(), Heard.COMPLAINT, hot))
    assert "If the water is near a light" in words_of(step(Conversation(), Heard.COMPLAINT, leak))
    oven = step(Conversation(), Heard.COMPLAINT, knowing(oven_in_use=True))
    assert "turn the oven off" in words_of(oven)


def test_nothing_to_ask_tells_what_happens_and_when() -> None:
    """Without a question worth asking: the report, what next, and by when."""
    result = step(Conversation(), Heard.COMPLAINT, COLD)
    assert result.conversation.state is State.TOLD
    assert "T-7F3K" in words_of(result)
    assert "7 pm today" in words_of(result)
    assert not any(say.asks for say in result.says)


def test_no_time_means_right_away() -> None:
    """An empty time is "as soon as we can"; nobody may have taken it, so no work is claimed."""
    result = step(ASKED_HOT, Heard.ANSWER, knowing(respond_by_text="", answer="hot"))
    assert "as soon as we can" in words_of(result)
    assert "on it" not in words_of(result)


def test_a_time_that_ends_in_a_stop_does_not_get_a_second_one() -> None:
    """Spanish writes "7 p. m.", which also ends the sentence."""
    knows = knowing(respond_by_text="hoy a las 7 p. m.", answer="hot")
    result = step(replace(ASKED_HOT, language="es"), Heard.ANSWER, knows)
    assert "7 p. m. Su reporte" in words_of(result)


def test_known_shared_problem_asks_nothing_and_reveals_nobody() -> None:
    """When enough others have reported: we already know, with the time, without a question."""
    result = step(Conversation(), Heard.COMPLAINT, knowing(known_to_us=True, next_question="q_hot"))
    assert result.conversation.state is State.TOLD
    assert "already know" in words_of(result)
    assert "neighbo" not in words_of(result).lower()
    assert not any(say.asks for say in result.says)


# Waits of the checks: see the question table.
@pytest.mark.parametrize(
    ("topic", "emitter", "heat_motor", "told", "words", "minutes"),
    [
        ("q_down", "fin_tube", False, (None, None), "50 F (10 C)", 30),
        ("q_down", "cast_iron", False, (None, None), "feel the PIPE", 30),
        ("q_down", "steel_panel", True, (None, None), "50 minutes", 50),
        ("q_up", "fin_tube", False, (61, None), "to 66 F (19 C)", 15),
        ("q_up", "cast_iron", False, (64.4, None), "to 69 F (21 C)", 45),
        ("q_up", "fin_tube", False, (57, 70), "to 72 F", 15),
        ("q_up", "fin_tube", False, (None, None), "5 degrees over", 15),
    ],
)
def test_check_says_what_to_do_and_when_we_write(
    topic: str,
    emitter: str,
    heat_motor: bool,
    told: tuple[float | None, float | None],
    words: str,
    minutes: float,
) -> None:
    """First what to do and when we write again, with a timer and no question yet.

    Nobody who is cold is told to set it lower than it is set.
    """
    knows = knowing(
        next_question=topic,
        emitter=emitter,
        heat_motor=heat_motor,
        room_f=told[0],
        set_f=told[1],
    )
    result = step(ASKED_HOT, Heard.ANSWER, knows)
    assert result.conversation.state is State.WAITING
    assert words in words_of(result)
    assert f"{minutes} minutes" in words_of(result)
    assert result.timers == (Timer("check", minutes, TopicId(topic)),)
    assert not any(say.asks for say in result.says)


def test_check_timer_brings_the_question_with_choices() -> None:
    """When the wait is over the question goes out, about the pipe where it is iron."""
    result = step(CHECKING, Heard.TIMER_CHECK, knowing(emitter="cast_iron"))
    assert result.conversation.state is State.ASKING
    assert "PIPE" in words_of(result)
    assert result.says[-1].asks is not None
    assert result.conversation.asked == ("q_down",)


def test_check_is_not_asked_of_a_heated_floor() -> None:
    """A floor takes hours: no turn-down check, we tell instead."""
    knows = knowing(next_question="q_down", emitter="radiant_floor")
    assert step(ASKED_HOT, Heard.ANSWER, knows).conversation.state is State.TOLD


def test_answers_count_when_a_question_is_out() -> None:
    """Outside a running check any answer counts."""
    assert answer_counts(ASKED_HOT, "hot")


def test_not_understood_is_asked_once_in_other_words_then_a_person() -> None:
    """One more try, worded differently, then a person takes over."""
    first = step(ASKED_HOT, Heard.OTHER, COLD)
    assert first.conversation.state is State.ASKING
    assert "Put a hand near" in words_of(first)
    second = step(first.conversation, Heard.UNREADABLE, COLD)
    assert second.conversation.state is State.PERSON
    assert second.hand_to_person


def test_the_same_complaint_again_in_place_of_an_answer() -> None:
    """ "No heat", sent twice: the question stays, in other words; the third time another is asked."""
    knows = knowing(next_question="q_rooms")
    same = step(ASKED_HOT, Heard.COMPLAINT, knows)
    assert same.conversation.current == "q_hot"
    assert "Put a hand near" in words_of(same)
    moved = step(same.conversation, Heard.COMPLAINT, knows)
    assert moved.conversation.current == "q_rooms"
    assert not moved.hand_to_person


def test_no_topic_twice_and_at_most_five() -> None:
    """A proposal that was asked before, or comes as the sixth, is not asked."""
    again = step(ASKED_HOT, Heard.ANSWER, knowing(next_question="q_hot"))
    assert again.conversation.state is State.TOLD
    five = replace(ASKED_HOT, asked=("q_hot", "q_rooms", "q_dhw", "q_start", "q_read"))
    assert step(five, Heard.ANSWER, knowing(next_question="q_set")).conversation.state is State.TOLD


def test_one_reminder_then_the_conversation_ends() -> None:
    """One reminder with the question again, then silence; the complaint stays open."""
    first = step(ASKED_HOT, Heard.TIMER_REMIND, COLD)
    assert first.says[0].text.startswith("We still need your answer.")
    assert step(first.conversation, Heard.TIMER_REMIND, COLD).says == ()
    end = step(first.conversation, Heard.TIMER_CLOSE, COLD)
    assert end.conversation.state is State.CLOSED
    assert end.says == ()
    assert not end.close_complaint


def test_silence_without_a_home_goes_to_a_person() -> None:
    """A report from an unknown number is not lost when no place comes."""
    asked = step(Conversation(), Heard.COMPLAINT, Situation()).conversation
    assert step(asked, Heard.TIMER_CLOSE, Situation()).hand_to_person


def test_late_answer_is_taken() -> None:
    """An answer after the conversation closed goes on with it, if the complaint is open."""
    closed = at(State.CLOSED, asked=("q_hot",))
    knows = knowing(next_question="q_rooms", answer="hot")
    result = step(closed, Heard.ANSWER, knows)
    assert result.conversation.state is State.ASKING
    assert "added this to your report T-7F3K" in words_of(result)
    nothing_open = step(closed, Heard.ANSWER, knowing(reference="", kinds=frozenset()))
    assert "What is wrong" in words_of(nothing_open)


def test_unknown_number_is_asked_for_its_place() -> None:
    """No home known: ask where, then go on where it is found, or hand over after two tries."""
    first = step(Conversation(), Heard.COMPLAINT, Situation(kinds=frozenset({Kind.TOO_COLD})))
    assert first.conversation.state is State.PLACE
    assert [say.asks.topic for say in first.says if say.asks] == ["place"]
    found = step(first.conversation, Heard.OTHER, knowing(next_question="q_hot"))
    assert found.conversation.home == HOME
    assert found.conversation.current == "q_hot"
    two = step(first.conversation, Heard.OTHER, Situation(homes=(HOME, OTHER_HOME)))
    assert two.conversation.state is State.WHICH
    lost = step(first.conversation, Heard.OTHER, Situation())
    assert "could not find" in words_of(lost)
    assert step(lost.conversation, Heard.OTHER, Situation()).hand_to_person


def test_a_complaint_about_another_home_starts_afresh() -> None:
    """What was asked about one home does not count for another."""
    told = at(State.TOLD, asked=("q_hot",))
    knows = knowing(homes=(OTHER_HOME,), next_question="q_hot")
    result = step(told, Heard.COMPLAINT, knows)
    assert result.conversation.home == OTHER_HOME
    assert result.conversation.current == "q_hot"


def test_another_home_while_a_question_is_out() -> None:
    """The question about the first home gives way; the other gets its own greeting and questions."""
    knows = knowing(homes=(OTHER_HOME,), next_question="q_read", told_more=True)
    result = step(ASKED_HOT, Heard.COMPLAINT, knows)
    assert result.conversation.home == OTHER_HOME
    assert result.conversation.current == "q_read"
    assert "Your report is" in words_of(result)


def test_same_home_goes_on_when_one_of_several() -> None:
    """In the middle of a complaint somebody with two homes is not asked which again."""
    closed = at(State.CLOSED, asked=("q_hot",))
    knows = knowing(homes=(OTHER_HOME, HOME), next_question="q_rooms")
    assert step(closed, Heard.COMPLAINT, knows).conversation.home == HOME
    known = step(closed, Heard.COMPLAINT, knowing(homes=(), next_question="q_rooms"))
    assert known.conversation.home == HOME


@pytest.mark.parametrize("event", [Heard.RESOLVED, Heard.CANCEL])
def test_it_works_now_closes_the_complaint(event: Heard) -> None:
    """A tenant's word that all is well, or a cancel, ends the complaint, kindly, with no question."""
    result = step(ASKED_HOT, event, knowing(next_question="q_rooms"))
    assert result.close_complaint
    assert result.conversation.state is State.CLOSED
    assert result.conversation.asked == ()
    assert not any(say.asks for say in result.says)
    nothing = step(Conversation(), event, Situation())
    assert not nothing.close_complaint


def test_after_a_repair() -> None:
    """ "Is it right now?": yes closes, no opens again, not sure leaves it, twice unclear a person."""
    asked = step(at(State.TOLD, asked=("q_hot",)), Heard.REPAIR_DONE, COLD)
    assert asked.conversation.state is State.REPAIRED
    assert "Is it right now?\n1 yes\n2 no\n0 not sure" in words_of(asked)
    yes = step(asked.conversation, Heard.ANSWER, knowing(answer="yes"))
    assert (yes.close_complaint, yes.reopen) == (True, False)
    no = step(asked.conversation, Heard.ANSWER, knowing(answer="no"))
    assert (no.close_complaint, no.reopen) == (False, True)
    assert "7 pm today" in words_of(no)
    more = step(asked.conversation, Heard.COMPLAINT, knowing(next_question="q_rooms"))
    assert more.reopen
    assert more.conversation.current == "q_rooms"
    unsure = step(asked.conversation, Heard.ANSWER, knowing(answer="unknown"))
    assert unsure.conversation.state is State.CLOSED
    odd = step(asked.conversation, Heard.ANSWER, COLD)
    assert "Is all good now?" in words_of(odd)
    assert step(odd.conversation, Heard.OTHER, COLD).hand_to_person
    assert step(asked.conversation, Heard.TIMER_CLOSE, COLD).conversation.asked == ()


def test_stop_and_start() -> None:
    """STOP is confirmed once, then silence; START brings texts back. The report stays open."""
    stopped = step(ASKED_HOT, Heard.STOP, COLD)
    assert "START" in words_of(stopped)
    assert not stopped.close_complaint
    for event in Heard:
        if event is not Heard.START:
            assert step(stopped.conversation, event, COLD).says == (), event
    heard = step(stopped.conversation, Heard.COMPLAINT, COLD)
    assert heard.hand_to_person
    assert step(stopped.conversation, Heard.RESOLVED, COLD).close_complaint
    back = step(stopped.conversation, Heard.START, COLD)
    assert back.conversation.state is State.TOLD
    nothing = step(stopped.conversation, Heard.START, Situation())
    assert nothing.conversation.state is State.NEW
    assert step(ASKED_HOT, Heard.START, COLD).conversation == ASKED_HOT


def test_language_switch_puts_the_question_again() -> None:
    """ESPAÑOL changes the language for good and repeats what is out in it."""
    result = step(ASKED_HOT, Heard.LANGUAGE, knowing(language="es"))
    assert result.conversation.language == "es"
    assert result.conversation.asked == ("q_hot",)
    assert "\n1 caliente\n2 tibio\n3 frío\n0 no sé" in words_of(result)
    back = step(result.conversation, Heard.LANGUAGE, COLD)
    assert back.conversation.language == "en"
    silent = step(at(State.STOPPED), Heard.LANGUAGE, knowing(language="es"))
    assert (silent.says, silent.conversation.language) == ((), "es")


@pytest.mark.parametrize(
    ("event", "words"),
    [(Heard.HELP, "PERSON"), (Heard.STATUS, "T-7F3K"), (Heard.THANKS, "send us your answer")],
)
def test_fixed_words_leave_the_question_out(event: Heard, words: str) -> None:
    """HELP, STATUS and thanks are answered and change nothing."""
    result = step(ASKED_HOT, event, COLD)
    assert words in words_of(result)
    assert result.conversation == ASKED_HOT


def test_status_without_a_report() -> None:
    """Nothing open is said plainly."""
    assert "no open report" in words_of(step(Conversation(), Heard.STATUS, Situation()))


def test_person_takes_over() -> None:
    """PERSON hands over at once and later texts are passed on; "it works now" and CANCEL end it as
    anywhere, unless it was of danger; after a day a new complaint works."""
    result = step(ASKED_HOT, Heard.HUMAN, COLD)
    assert result.hand_to_person
    assert step(result.conversation, Heard.ANSWER, COLD).hand_to_person
    assert step(result.conversation, Heard.RESOLVED, COLD).close_complaint
    assert step(result.conversation, Heard.CANCEL, COLD).close_complaint
    assert "T-7F3K" in words_of(step(result.conversation, Heard.STATUS, COLD))
    assert "welcome" in words_of(step(result.conversation, Heard.THANKS, COLD))
    later = step(result.conversation, Heard.TIMER_CLOSE, COLD)
    assert later.conversation.state is State.CLOSED


def test_news_in_place_of_an_answer_puts_the_question_again() -> None:
    """ "Since last week", when asked for the radiator, is noted and not counted as not understood."""
    result = step(ASKED_HOT, Heard.COMPLAINT, knowing(told_more=True))
    assert words_of(result).startswith("Thank you, we noted it. Please touch the radiator")
    assert (result.conversation.current, result.conversation.repeats) == ("q_hot", 0)
    assert {t.purpose for t in result.timers} == {"remind", "close"}


def test_no_question_is_put_a_third_time() -> None:
    """More news in place of an answer that was asked for twice is noted, and the next question asked."""
    news = knowing(told_more=True, next_question="q_rooms")
    once = step(ASKED_HOT, Heard.COMPLAINT, news).conversation
    for asked_twice in (once, replace(ASKED_HOT, repeats=1)):
        after = step(asked_twice, Heard.COMPLAINT, news)
        assert words_of(after).startswith("Thank you, we noted it. Is it the whole home")
        assert after.conversation.current == "q_rooms"
    again = step(step(once, Heard.COMPLAINT, news).conversation, Heard.COMPLAINT, news)
    assert again.conversation.current == "q_rooms"


def test_unclear_text_with_an_open_report_is_kept() -> None:
    """With a report open, an unclear text is added to it; the second goes to a person."""
    first = step(at(State.TOLD), Heard.OTHER, COLD)
    assert "T-7F3K" in words_of(first)
    assert step(first.conversation, Heard.OTHER, COLD).hand_to_person
    yes = step(first.conversation, Heard.OTHER, knowing(bare=True))
    assert "T-7F3K" in words_of(yes)
    assert not yes.hand_to_person


def test_more_about_the_complaint_while_waiting_or_told() -> None:
    """More words are noted; a new question may follow when nothing was out."""
    assert "noted it" in words_of(step(CHECKING, Heard.COMPLAINT, COLD))
    told = step(at(State.TOLD), Heard.COMPLAINT, knowing(next_question="q_rooms"))
    assert told.conversation.current == "q_rooms"
    only = step(at(State.TOLD), Heard.COMPLAINT, knowing(oven_in_use=True))
    assert "oven off" in words_of(only)
    assert "T-7F3K" in words_of(only)
    bare = step(at(State.TOLD), Heard.COMPLAINT, knowing(reference=""))
    assert "noted" in words_of(bare)
    assert "noted" in words_of(step(ASKED_HOT, Heard.ANSWER, knowing(reference="")))


@pytest.mark.parametrize("state", list(State))
def test_stored_and_read_back(state: State) -> None:
    """A conversation survives storage as JSON."""
    conversation = at(state, asked=("q_hot",), current="q_hot", homes=(HOME, OTHER_HOME), repeats=1)
    assert Conversation.from_dict(json.loads(json.dumps(conversation.to_dict()))) == conversation
