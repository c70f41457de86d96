"""What is said beside answers: why we ask, another home, moving out, a new trouble, half an address."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oak_street import ASKED_HOT, at, knowing, words_of

from rules.asking.asides import asides_in
from rules.asking.conversation import PLACE, Conversation, Heard, Situation, State, step
from rules.asking.for_another import has_moved_out, is_for_another
from rules.asking.sayings import say
from rules.asking.short_words import (
    is_away,
    is_still_nothing,
    is_thumbs_up,
    nobody_came,
    put_right,
    wants_no_questions,
)
from rules.model import Kind

# --- why, and who has had enough


@pytest.mark.parametrize(
    "text",
    [
        "why do you ask?",
        "Why do you need to know that",
        "but why",
        "what for?",
        "why are you asking me that",
        "¿Por qué pregunta?",
        "para que quiere saber eso",
        "¿y eso para qué?",
    ],
)
def test_whoever_asks_why_is_heard(text: str) -> None:
    """A question about our question, in so many words."""
    assert asides_in(text, asked=True) == ("why",)
    assert asides_in(text, asked=False) == ()


@pytest.mark.parametrize(
    "text",
    ["why is it so cold", "why do i have no heat", "por que no hay calor", "why is nobody coming"],
)
def test_why_it_is_cold_is_another_question(text: str) -> None:
    """That asks after the trouble."""
    assert asides_in(text, asked=True) == ()


def test_a_question_gets_its_reason_and_stays_out() -> None:
    """The reason, then the same question; it does not count as not understood."""
    result = step(ASKED_HOT, Heard.ASIDE, knowing(asides=("why",)))
    assert words_of(result).startswith(say("why", "en"))
    assert result.says[-1].asks is not None
    assert result.conversation.repeats == 0


@pytest.mark.parametrize(
    "text", ["just fix it", "send someone now please", "manden a alguien ya", "vengan ya"]
)
def test_whoever_wants_somebody_to_come_is_not_asked_on(text: str) -> None:
    """Impatience is for a person."""
    assert wants_no_questions(text)


# --- another home, and none any more


@pytest.mark.parametrize(
    "text",
    [
        "my neighbor in 3B has no heat she doesnt have a phone",
        "The lady next door, my neighbor, is freezing",
        "la vecina del 3B no tiene calefaccion",
        "mi vecino esta sin agua caliente",
        "no heat at my neighbors place",
        "hay mucho frio en la casa de mi vecina",
        "my neighbors heat is not working",
        "neighbor told me she has no heat",
        "my neighbor is 80 and she is cold",
    ],
)
def test_trouble_of_a_neighbor(text: str) -> None:
    """All of it is the other home's."""
    assert is_for_another(text, other_door=False)


@pytest.mark.parametrize(
    "text",
    [
        "my neighbor has no heat either",
        "my neighbor and i have no heat",
        "no heat here and my neighbor is cold too",
        "la vecina tampoco tiene calefaccion",
        "my neighbor has heat",
        "neighbors radiator is leaking into my ceiling",
        "does my neighbor have no heat?",
        "my heat is out, neighbor says hers isnt out",
    ],
)
def test_whoever_speaks_of_the_own_home_reports_that(text: str) -> None:
    """Somebody who joins in has the trouble as well; who asks tells nothing."""
    assert not is_for_another(text, other_door=False)


@pytest.mark.parametrize(
    "text",
    [
        "no heat, neighbor upstairs is fine",
        "Heating is not working neighbor across the hall is fine",
        "cant turn the heat off, its roasting neighbor across the hall is fine my mother is 84",
        "no hot water but neighbor has it",
        "no heat since last night, asked my neighbor and hers is on",
        "neighbor has heat, no heat in my apartment",
        "heat is out here not at my neighbors",
        "no heat, neighbor upstairs has no heat",
        "it is freezing, the neighbor has a space heater",
        "my neighbor told me to text you, no heat since morning",
        "no hay calefaccion, el vecino si tiene",
        "no sirve la calefaccion mi vecino esta bien",
        "no tengo agua caliente pero mi vecino si",
    ],
)
def test_a_neighbor_who_is_well_takes_no_complaint_away(text: str) -> None:
    """The neighbor is no more than beside the sender's own trouble."""
    assert not is_for_another(text, other_door=False)
    assert not is_for_another(text, other_door=True)


def test_a_relative_lives_elsewhere_only_behind_another_door() -> None:
    """ "My mom has no heat" may be said at her table."""
    assert is_for_another("my mom in 3B has no heat", other_door=True)
    assert not is_for_another("my mom has no heat", other_door=False)


@pytest.mark.parametrize(
    "text",
    [
        "i moved out last month",
        "we dont live there anymore",
        "Hi, I'm moving out on the 1st",
        "ya no vivo ahí",
        "me mudé en mayo",
    ],
)
def test_who_has_left_is_heard(text: str) -> None:
    """Moved, or about to."""
    assert has_moved_out(text)


@pytest.mark.parametrize(
    "text",
    [
        "its been like this since we moved in",
        "desde que me mude",
        "i moved the couch",
        "we live here",
        "no one lives upstairs",
    ],
)
def test_who_has_moved_in_has_not_left(text: str) -> None:
    """Since when it is cold, and what was moved."""
    assert not has_moved_out(text)


@pytest.mark.parametrize("event", [Heard.FOR_ANOTHER, Heard.MOVED])
def test_both_are_for_a_person_and_ask_nothing(event: Heard) -> None:
    """Nobody is asked of a home that is not theirs."""
    result = step(Conversation(), event, Situation())
    assert result.hand_to_person
    assert result.conversation.state is State.PERSON
    assert all(s.asks is None for s in result.says)


# --- a trouble that is new in an open report


def test_a_new_leak_is_warned_of_before_the_question_is_put_again() -> None:
    """Danger first: where water may reach a plug."""
    news = knowing(kinds=frozenset({Kind.TOO_COLD, Kind.LEAK}), new_kinds=frozenset({Kind.LEAK}))
    words = words_of(step(ASKED_HOT, Heard.COMPLAINT, news))
    assert words.startswith(say("safety_water", "en"))
    assert say("noted_short", "en") in words
    assert "How is it?" in words


def test_a_warning_that_was_given_is_not_given_again() -> None:
    """No hot water after no heat: the line on gas has been said."""
    both = frozenset({Kind.TOO_COLD, Kind.NO_HOT_WATER})
    news = knowing(kinds=both, new_kinds=frozenset({Kind.NO_HOT_WATER}))
    words = words_of(step(ASKED_HOT, Heard.COMPLAINT, news))
    assert "smell gas" not in words
    assert words.startswith(say("noted_short", "en"))


@pytest.mark.parametrize(
    "state", [State.TOLD, State.WAITING, State.READ_BACK, State.REPAIRED, State.CLOSED]
)
def test_a_new_leak_is_warned_of_wherever_the_conversation_stands(state: State) -> None:
    """While a check runs, after all questions, after a repair."""
    news = knowing(kinds=frozenset({Kind.TOO_HOT, Kind.LEAK}), new_kinds=frozenset({Kind.LEAK}))
    current = {State.WAITING: "q_down", State.READ_BACK: "read_back", State.REPAIRED: "right_now"}
    talk = at(state, current=current.get(state), asked=("q_down",))
    assert say("safety_water", "en") in words_of(step(talk, Heard.COMPLAINT, news))


# --- waiting for us


def test_whoever_asks_when_it_is_late_is_told_so_and_a_person_is() -> None:
    """ "We act as soon as we can" two days later is no answer."""
    late = step(at(State.TOLD), Heard.STATUS, knowing(late=True, respond_by_text=""))
    assert "sorry it takes so long" in words_of(late)
    assert late.hand_to_person
    in_time = step(at(State.TOLD), Heard.STATUS, knowing())
    assert "7 pm today" in words_of(in_time)
    assert not in_time.hand_to_person


@pytest.mark.parametrize(
    "text", ["still cold nobody called", "no one ever came", "nadie ha venido", "sigo esperando"]
)
def test_who_has_waited_in_vain_is_heard(text: str) -> None:
    """Said in anger, it still asks when somebody comes."""
    assert nobody_came(text)


def test_ok_the_ambulance_is_here_is_no_thanks() -> None:
    """Where a danger was told a person reads what comes next."""
    result = step(at(State.PERSON), Heard.THANKS, knowing(danger_open=("hypothermia",)))
    assert result.hand_to_person
    assert say("welcome", "en") not in words_of(result)


@pytest.mark.parametrize(("text", "is_one"), [("👍", True), ("👍🏽 🙏", True), ("🤷", False)])
def test_a_thumb_is_an_ok(text: str, *, is_one: bool) -> None:
    """Signs alone; a shrug is none."""
    assert is_thumbs_up(text) is is_one
    assert not is_thumbs_up(f"{text} cold")


@pytest.mark.parametrize(
    ("text", "is_one"),
    [("still nothing", True), ("Todavía nada", True), ("nothing", False), ("still blank", False)],
)
def test_still_nothing_is_no_sight(text: str, *, is_one: bool) -> None:
    """ "Nothing" may be what a screen shows."""
    assert is_still_nothing(text) is is_one


# --- half an address

UNKNOWN_PHONE = Situation(kinds=frozenset({Kind.TOO_COLD}))


def test_who_tells_the_street_is_asked_for_the_door() -> None:
    """Not for all of it again."""
    first = step(Conversation(building="oak-12"), Heard.COMPLAINT, UNKNOWN_PHONE)
    assert first.conversation.state is State.PLACE
    assert say("place_door", "en") in words_of(first)


def test_who_tells_the_door_is_asked_for_the_street() -> None:
    """ "Apt 3B" alone may be in any house."""
    first = step(Conversation(door="3B"), Heard.COMPLAINT, UNKNOWN_PHONE)
    assert say("place_street", "en") in words_of(first)


def test_half_an_address_is_no_failure_and_a_wrong_door_is_one() -> None:
    """Asked for the rest, then once more; then a person."""
    asked = at(State.PLACE, home=None, current=PLACE, building="oak-12")
    half = step(asked, Heard.ANSWER, replace(UNKNOWN_PHONE, place_told=True))
    assert words_of(half) == say("place_door", "en")
    wrong = step(
        replace(half.conversation, door="9Z"),
        Heard.ANSWER,
        replace(UNKNOWN_PHONE, place_told=True),
    )
    assert words_of(wrong) == say("place_door_again", "en")
    assert step(wrong.conversation, Heard.ANSWER, UNKNOWN_PHONE).hand_to_person


def test_a_street_that_is_not_ours_is_said_so() -> None:
    """ "15 Elm Street 2C" was an address, so it is not asked for as if there had been none."""
    elsewhere = replace(UNKNOWN_PHONE, street_unknown=True)
    first = step(Conversation(door="2C"), Heard.COMPLAINT, elsewhere)
    assert say("place_again", "en") in words_of(first)


# --- away, a heater, a time, an answer put right


@pytest.mark.parametrize(
    "text", ["im not home right now", "cant check till 6", "at work", "no estoy en casa"]
)
def test_who_will_look_later_is_heard(text: str) -> None:
    """The answer is to come."""
    assert is_away(text)


@pytest.mark.parametrize("text", ["the work is done", "its not hot in there", "cant see it move"])
def test_who_looks_now_is_not_away(text: str) -> None:
    """Words that only look like it."""
    assert not is_away(text)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("wait no 3", "3"),
        ("I meant cold", "cold"),
        ("perdón era el 3", "3"),
        ("oops wrong number 2", "2"),
        ("sorry 3", ""),
        ("no 3", ""),
        ("wrong number", ""),
    ],
)
def test_what_is_put_right(text: str, meant: str) -> None:
    """More than "sorry" or "no", which begin many an answer."""
    assert put_right(text) == meant


def test_a_small_heater_is_warned_of_beside_the_question() -> None:
    """Used or asked about; the oven's warning comes alone."""
    heater = knowing(asides=("safety_heater",))
    assert say("safety_heater", "en") in words_of(step(ASKED_HOT, Heard.OTHER, heater))
    oven = knowing(asides=("safety_heater",), oven_in_use=True)
    assert say("safety_heater", "en") not in words_of(step(ASKED_HOT, Heard.OTHER, oven))
    assert step(ASKED_HOT, Heard.OTHER, heater).conversation == ASKED_HOT
    first = step(Conversation(), Heard.COMPLAINT, knowing(asides=("safety_heater",), opened=True))
    assert "smell gas" in words_of(first)
    assert say("safety_heater", "en") in words_of(first)


def test_an_answer_that_asks_when_gets_the_time_before_the_next_question() -> None:
    """Once: where nothing is asked any more, what comes next says it."""
    asks = knowing(answer="cold", asks_when=True, next_question="q_rooms")
    assert words_of(step(ASKED_HOT, Heard.ANSWER, asks)).startswith("We aim to act by 7 pm today.")
    last = words_of(step(ASKED_HOT, Heard.ANSWER, replace(asks, next_question=None)))
    assert last.count("7 pm today") == 1
