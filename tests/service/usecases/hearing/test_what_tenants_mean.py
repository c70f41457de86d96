"""Short, late and sideways texts, as tenants send them, through the whole service."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from whole_service import EVENING, Running, household_rows, mobile, said, topics_asked

from rules.asking.sayings import say
from service.sms.segments import fold

HOT = "too hot and the radiator is burning hot"


def _facts(service: Running, answer: dict[str, Any]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")[
        "facts"
    ]
    return found


def _topics(service: Running, answer: dict[str, Any]) -> dict[str, str]:
    return {f["topic"]: f["means"] for f in _facts(service, answer) if f["type"] == "answered"}


def _numbers(service: Running, answer: dict[str, Any]) -> list[tuple[float | None, float | None]]:
    return [(f["room_f"], f["set_f"]) for f in _facts(service, answer) if f["type"] == "room_read"]


# --- while a thermostat check runs


@pytest.mark.parametrize("words", ["1", "yea", "ok", "done", "yes, done", "👍", "listo"])
def test_done_is_no_answer_to_what_was_not_asked(service: Running, words: str) -> None:
    """Told to turn it down, a household says so; the promised text still comes, and it asks."""
    service.text(mobile("3A"), HOT)
    answer = service.text(mobile("3A"), words)
    if answer["replies"]:
        assert "30 min" in said(answer)
    assert "q_down" not in _topics(service, answer)
    assert topics_asked(service.wait(minutes=31)) == ["q_down"]


def test_own_words_answer_early(service: Running) -> None:
    """ "It is getting cooler already" is seen, not just done; nothing is asked later."""
    service.text(mobile("3A"), HOT)
    early = service.text(mobile("3A"), "its cooler already")
    assert _topics(service, early)["q_down"] == "cooling"
    assert "q_down" not in topics_asked(service.wait(minutes=31))


@pytest.mark.parametrize("words", ["no", "I can't", "no puedo", "it wont turn down"])
def test_whoever_cannot_turn_it_is_not_asked_what_it_did(service: Running, words: str) -> None:
    """No blame, the next question, and not a word of the check later."""
    service.text(mobile("3A"), HOT)
    answer = service.text(mobile("3A"), words)
    assert say("turn_cannot", "en") in said(answer) or say("turn_cannot", "es") in said(answer)
    assert "q_down" not in _topics(service, answer)
    assert "q_down" not in topics_asked(service.wait(minutes=31))


def test_no_check_runs_into_the_night(service: Running) -> None:
    """At ten to nine nobody is told to turn the heat down and then left alone till morning."""
    service.services.clock.move(EVENING + timedelta(hours=1, minutes=50))  # type: ignore[attr-defined]
    assert "We write again" not in said(service.text(mobile("3A"), HOT))
    assert "q_down" not in topics_asked(service.wait(hours=14))


@pytest.mark.parametrize(
    ("words", "key"), [("ya no hace falta, gracias", "cancelled"), ("its fixed now", "glad_closed")]
)
def test_done_is_not_heard_in_what_ends_the_report(service: Running, words: str, key: str) -> None:
    """ "Ya" in "ya no hace falta" is no "ya" of somebody who has turned it."""
    service.text(mobile("3A"), HOT)
    assert said(service.text(mobile("3A"), words)) in (say(key, "en"), fold(say(key, "es")))


# --- the language


def test_a_number_does_not_change_the_language(service: Running) -> None:
    """Who wrote Spanish and then sends "57" is answered in Spanish; English words turn it back."""
    service.text(mobile("2A"), "hola, hace mucho frío en mi casa")
    for number in ("57", "58 F", "👍"):
        words = said(service.text(mobile("2A"), number))
        assert "¿" in words or "Gracias" in words, words
    english = said(service.text(mobile("2A"), "its 59 now and still cold in the bedroom"))
    assert " the " in english or "Thank you" in english


# --- numbers


def test_a_second_number_is_the_setting(service: Running) -> None:
    """Cold at 57, then "70": nobody is cold at 70, so it is what the thermostat is set to."""
    first = service.text(mobile("2A"), "its cold in here, 57")
    second = service.text(mobile("2A"), "70")
    assert _numbers(service, second)[-1] == (None, 70)
    assert second["complaint"] == first["complaint"]


def test_a_short_setting_in_spanish(service: Running) -> None:
    """ "a 70" is the setting, and "a 57" in a cold home of which nothing is known is the room."""
    service.text(mobile("2A"), "hace frío")
    assert _numbers(service, service.text(mobile("2A"), "57"))[-1] == (57, None)
    assert _numbers(service, service.text(mobile("2A"), "a 70"))[-1] == (None, 70)
    service.text(mobile("2B"), "hace frío")
    assert _numbers(service, service.text(mobile("2B"), "a 57"))[-1] == (57, None)


def test_a_home_that_warms_up_is_no_setting(service: Running) -> None:
    """ "61" after "57" is the room again."""
    service.text(mobile("2A"), "its cold in here, 57")
    assert _numbers(service, service.text(mobile("2A"), "61"))[-1] == (61, None)


# --- answers to what was not asked


def test_an_answer_to_another_question_is_taken(service: Running) -> None:
    """ "Only when it comes on" is when a noise comes, though the thermostat was asked for; it is no
    reason to call a person."""
    service.text(mobile("2A"), "the radiator makes noise")
    for words in ("solo cuando prende", "ya desde hace semanas"):
        answer = service.text(mobile("2A"), words)
        assert say("person", "es") not in said(answer)
        assert say("person", "en") not in said(answer)
    topics = _topics(service, answer)
    assert (topics["q_noise_when"], topics["q_start"]) == ("start", "weeks")


def test_what_the_first_text_says_is_not_asked(service: Running) -> None:
    """Since when, and how the hot water is, told with the complaint."""
    answer = service.text(mobile("2A"), "no heat since yesterday but the hot water is fine")
    topics = _topics(service, answer)
    assert (topics["q_start"], topics["q_dhw"]) == ("days", "normal")


def test_the_day_of_a_visit_is_no_beginning(service: Running) -> None:
    """ "Can somebody come today" says nothing of when it began."""
    answer = service.text(mobile("2A"), "no heat, can somebody come today")
    assert "q_start" not in _topics(service, answer)


# --- when a person has taken over


def test_it_works_now_ends_a_report_that_a_person_has(service: Running) -> None:
    """Somebody who asked for a person and then has heat again is done."""
    service.text(mobile("2A"), "no heat")
    service.text(mobile("2A"), "PERSON")
    assert "is open" in said(service.text(mobile("2A"), "when?"))
    assert "welcome" in said(service.text(mobile("2A"), "thanks"))
    over = service.text(mobile("2A"), "ya se quitó, gracias")
    assert said(over) == fold(say("glad_closed", "es"))
    assert service.open_tickets() == []


@pytest.mark.parametrize(
    "words",
    [
        "yes we are outside",
        "heat is back, its fixed",
        "cancel my report",
        "the gas company says its ok",
    ],
)
def test_no_text_ends_a_danger(service: Running, words: str) -> None:
    """After gas: stay out until the crew says it is safe; a person decides, the report stays."""
    service.text(mobile("2A"), "I smell gas in the kitchen")
    answer = service.text(mobile("2A"), words)
    assert said(answer) == say("danger_noted", "en")
    assert [t["danger"] for t in service.open_tickets()] == [True]


def test_the_other_phone_of_a_home_with_gas_is_not_asked_to_go_in(service: Running) -> None:
    """Who writes "no heat" from the same home is told to stay out; after a day it is asked again."""
    service.text(mobile("2A"), "I smell gas in the kitchen")
    second = "+12125550188"
    rows = household_rows()
    rows.append(rows[2] | {"name": "Somebody else", "mobile": second})
    answer = service.call("PUT", "/api/v1/buildings/quarry-9/households", "owner", json=rows)
    assert answer.status_code == 200, answer.text
    assert said(service.text(second, "no heat at all here")) == say("danger_noted", "en")
    service.wait(hours=25)
    assert "Stay out" not in said(service.text(second, "no heat at all here"))


# --- asking after it


@pytest.mark.parametrize("words", ["when", "Cuando?", "???", "Everything ok?"])
def test_one_word_asks_after_the_report(service: Running, words: str) -> None:
    """With a report open and nothing asked, it is told by when somebody acts."""
    first = service.text(mobile("2A"), "no heat")
    for _ in range(6):
        if not topics_asked(first["replies"]):
            break
        first = service.text(mobile("2A"), "0")
    assert "T-" in said(service.text(mobile("2A"), words))


def test_a_question_is_no_thanks(service: Running) -> None:
    """ "Everything ok?" on an idle line is not answered with "you are welcome"."""
    assert "welcome" not in said(service.text(mobile("2A"), "Everything ok?"))
    assert "welcome" in said(service.text(mobile("2A"), "ok thanks"))


def test_nothing_is_closed_that_was_never_open(service: Running) -> None:
    """ "Never mind" after a greeting, and STOP on an idle line, speak of no report."""
    service.text(mobile("2A"), "hello")
    assert said(service.text(mobile("2A"), "ok nevermind")) == say("nothing_to_cancel", "en")
    assert said(service.text(mobile("2A"), "STOP")) == say("stopped", "en")
