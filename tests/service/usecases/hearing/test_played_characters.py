"""Tenants of all kinds, played whole: each stumble was seen once."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import Running, mobile, said, topics_asked

from rules.asking.sayings import say
from service.sms.segments import fold

STRANGER = "+12125550177"


def _facts(service: Running, answer: dict[str, Any]) -> list[tuple[str, str]]:
    """What was answered of a report, in order."""
    report = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    return [(f["topic"], f["means"]) for f in report["facts"] if f["type"] == "answered"]


# --- the other language


def test_whoever_was_told_to_leave_is_told_again_in_their_language(service: Running) -> None:
    """ "I do not understand English" after a smell of gas is answered with what to do, not with "OK"."""
    service.text(mobile("2A"), "i smell gas, strong")
    answer = service.text(mobile("2A"), "no entiendo ingles")
    assert said(answer) == fold(say("danger_gas", "es"))


def test_what_to_do_at_the_thermostat_is_said_again_in_the_other_language(service: Running) -> None:
    """With the minutes that are left; who asks for another language has not understood the first."""
    service.text(mobile("2A"), "no heat")
    service.text(mobile("2A"), "cold")
    service.wait(minutes=5)
    answer = service.text(mobile("2A"), "no entiendo ingles")
    assert fold("Ponga el termostato en 5 grados más") in said(answer)
    assert "en 10 minutos" in said(answer)


def test_by_when_somebody_acts_is_said_again_in_the_other_language(service: Running) -> None:
    """Where nothing is asked any more."""
    for words in ("pipes bang", "2", "1"):
        service.text(mobile("2A"), words)
    answer = said(service.text(mobile("2A"), "habla español?"))
    assert answer.startswith(fold(say("language", "es")))
    assert "sigue abierto" in answer


# --- a leak that grows


@pytest.mark.parametrize(
    ("first", "then", "language"),
    [
        ("water dripping from the radiator valve", "its pouring now!!", "en"),
        ("gotea el radiador, poquitas gotas", "ya sale a chorro", "es"),
    ],
)
def test_a_leak_that_grows_is_heard(service: Running, first: str, then: str, language: str) -> None:
    """Its last word counts, and we say again when to leave, once."""
    drips = service.text(mobile("2A"), first)
    assert ("q_leak", "drip") in _facts(service, drips)
    grown = service.text(mobile("2A"), then)
    assert _facts(service, grown)[-1] == ("q_leak", "stream")
    for key in ("safety_water", "care_leak"):
        assert fold(say(key, language)) in said(grown)
    assert fold(say("care_leak", language)) not in said(service.text(mobile("2A"), then))


# --- what is no answer


def test_ones_own_door_is_no_choice(service: Running) -> None:
    """ "2a" from 2A does not say that the radiator is "2 warm"."""
    service.text(STRANGER, "no heat 9 quarry street apt 2A")
    answer = service.text(STRANGER, "2a")
    assert topics_asked(answer["replies"]) == ["q_hot"]
    assert _facts(service, answer) == []


@pytest.mark.parametrize("words", ["In celsius, yes.", "NO HEAT!!!", "is there a warming center"])
def test_a_yes_or_no_in_passing_says_nothing_of_the_check(service: Running, words: str) -> None:
    """Neither that it warms up nor that it cannot be done; the check goes on."""
    service.text(mobile("2A"), "radiators have gone stone cold")
    answer = service.text(mobile("2A"), words)
    assert "We write again in 15 min." in said(answer)
    assert "q_up" not in dict(_facts(service, answer))


def test_text_only_does_not_turn_texts_on(service: Running) -> None:
    """Nobody who gets our texts asks for them."""
    service.text(mobile("2A"), "please dont call me im deaf. no heat")
    answer = service.text(mobile("2A"), "text only please")
    assert "Texts are on again" not in said(answer)
    assert topics_asked(answer["replies"]) == ["q_hot"]


@pytest.mark.parametrize("words", ["bet", "aight", "dale"])
def test_ok_in_young_peoples_words_is_no_failed_answer(service: Running, words: str) -> None:
    """The answer is still wanted, however often."""
    service.text(mobile("2A"), "no heat")
    for _ in range(3):
        answer = service.text(mobile("2A"), words)
    assert fold(say("welcome_asked", "en")) in said(answer)


def test_on_the_road_is_no_cannot_tell(service: Running) -> None:
    """Who is not there is asked to answer later, and not told to turn a thermostat."""
    service.text(mobile("2A"), "heater dead in my place")
    answer = service.text(mobile("2A"), "cant check im on the road")
    assert said(answer) == say("welcome_asked", "en")


# --- what somebody cannot do, or has not got


def test_who_cannot_reach_the_thermostat_is_not_told_to_turn_it(service: Running) -> None:
    """Said in the first text, and taken."""
    service.text(mobile("2A"), "no heat, im in a wheelchair and cant reach the thermostat")
    answer = service.text(mobile("2A"), "cold")
    assert "set the thermostat" not in said(answer)
    assert topics_asked(answer["replies"])


def test_who_has_no_thermostat_is_not_asked_what_it_shows(service: Running) -> None:
    """But for a thermometer, to whatever the questions come."""
    for words in ("no heat", "cold", "i dont have a thermostat"):
        answer = service.text(mobile("2A"), words)
    for _ in range(4):
        asked = topics_asked(answer["replies"])
        if asked == ["q_read"]:
            break
        answer = service.text(mobile("2A"), "1")
    assert asked == ["q_read"]
    assert "if you have a thermometer" in said(answer)


@pytest.mark.parametrize(
    "words",
    [
        "some guy came, looked at the boiler and left, didnt fix anything",
        "vino un señor y no hizo nada",
    ],
)
def test_a_visit_that_mended_nothing_is_no_failed_answer(service: Running, words: str) -> None:
    """Noted, however often, and nothing is learned from it of rooms."""
    service.text(mobile("2A"), "no heat")
    for _ in range(3):
        answer = service.text(mobile("2A"), words)
        assert topics_asked(answer["replies"]) == ["q_hot"]
    assert _facts(service, answer) == []


# --- questions of theirs


@pytest.mark.parametrize(
    ("words", "language"),
    [
        ("do i have to be home", "en"),
        ("¿Tengo que estar en la casa?", "es"),
        ("¿y si no estoy?", "es"),
    ],
)
def test_whether_to_be_home(service: Running, words: str, language: str) -> None:
    """Answered while a check runs too, and no word about the check."""
    for first in ("no heat", "cold") if language == "en" else ("no hay calor", "frio"):
        service.text(mobile("2A"), first)
    answer = service.text(mobile("2A"), words)
    assert fold(say("be_home", language)) in said(answer)
    assert "q_up" not in dict(_facts(service, answer))


@pytest.mark.parametrize(
    "words", ["hello?", "Hi, anyone there?", "when is someone coming its been 3 days"]
)
def test_who_calls_out_while_waiting_is_told_by_when(service: Running, words: str) -> None:
    """Not only that it was noted."""
    service.text(mobile("2A"), "no heat")
    service.text(mobile("2A"), "cold")
    answer = said(service.text(mobile("2A"), words))
    assert "We aim to act by" in answer
