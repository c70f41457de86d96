"""What people write besides, played whole: getting in, what they may not do, another door."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import Running, mobile, said, topics_asked

from rules.asking.sayings import say
from service.auth.roles import Role
from service.sms.segments import fold

STRANGER = "+12125550177"
FIXED = {"fault": "valve_motor_dead", "component": "2A.valve"}


def _report(service: Running, answer: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    return found


def _answers(service: Running, answer: dict[str, Any]) -> dict[str, str]:
    facts = _report(service, answer)["facts"]
    return {f["topic"]: f["means"] for f in facts if f["type"] == "answered" and f["counts"]}


# --- what has an answer of its own


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("should i take the cover off the thermostat and jiggle the wires", "hands_off"),
        ("or i could go down and hit reset on the boiler?", "hands_off"),
        ("will i be charged for the repair", "cost"),
        ("just the number please", "no_numbers"),
        ("please don't tell him it was me", "brave"),
        ("can u see it?", "picture"),
    ],
)
def test_it_is_answered_and_tells_nothing_of_the_home(
    service: Running, words: str, key: str
) -> None:
    """The report stays open, the question stays out, and no word of it is taken for an answer."""
    first = service.text(mobile("4A"), "no heat")
    answer = service.text(mobile("4A"), words)
    assert fold(say(key, "en")) in said(answer)
    assert topics_asked(answer["replies"]) == topics_asked(first["replies"]) == ["q_hot"]
    assert _answers(service, answer) == {}
    assert _report(service, answer)["state"] == "open"


def test_a_first_report_that_asks_is_greeted_and_answered(service: Running) -> None:
    """Both in one turn."""
    answer = service.text(mobile("4A"), "does it cost money to report no heat?")
    assert answer["ticket"] is not None
    assert said(answer).startswith("Heat line, 9 Quarry Street.")
    assert say("cost", "en") in said(answer)


def test_whoever_thanks_and_tells_how_warm_it_is_has_told_it(service: Running) -> None:
    """ "Ok so what do I do, its 55" is more than an "ok"."""
    service.text(mobile("2A"), "no heat")
    answer = service.text(mobile("2A"), "ok so what do i do its 55")
    assert topics_asked(answer["replies"])
    assert say("welcome_asked", "en") not in said(answer)


def test_a_wrong_number_is_asked_nothing(service: Running) -> None:
    """Who has no report and meant somebody else hears one sentence."""
    service.text(STRANGER, "hey are we still on for dinner")
    assert said(service.text(STRANGER, "oh sorry wrong number")) == say("slip", "en")


# --- getting in


def test_do_not_come_tomorrow_takes_no_report_back(service: Running) -> None:
    """Noted, and on the ticket for whoever goes; "Friday is fine" says nothing of a screen."""
    service.text(mobile("1B"), "heating doesn't work in the living room")
    assert topics_asked(service.text(mobile("1B"), "cold")["replies"]) == ["q_screen"]
    for words in ("please do not come tomorrow, we have a funeral", "friday is fine"):
        answer = service.text(mobile("1B"), words)
        assert said(answer).startswith(say("noted_short", "en"))
        assert topics_asked(answer["replies"]) == ["q_screen"]
    assert "q_screen" not in _answers(service, answer)
    service.sign_in(Role.TRUCK)
    page = service.page(f"/truck/tickets/{answer['ticket']}")
    assert "1B wrote:" in page
    assert "<bdi>please do not come tomorrow, we have a funeral</bdi>" in page
    assert "<bdi>friday is fine</bdi>" in page
    assert "Nothing on file" not in page


def test_what_was_written_of_getting_in_stands_at_the_desk_too(service: Running) -> None:
    """In their words and language; what is kept on a phone names no neighbor."""
    service.text(mobile("2A"), "no hay calefaccion. la llave la tiene mi vecina del 2C")
    first = service.text(mobile("2A"), "hay un perro")
    service.sign_in(Role.DESK)
    page = service.page(f"/desk/tickets/{first['ticket']}")
    assert '2A wrote: <q lang="es"><bdi>la llave la tiene mi vecina del 2C</bdi></q>' in page
    assert "hay un perro" in page


# --- another door, and whoever writes for others


@pytest.mark.parametrize("words", ["sorry i meant 3A", "wrong apartment its 3A not 3B"])
def test_a_report_goes_to_the_door_that_was_meant(service: Running, words: str) -> None:
    """Of a phone that is not on file; the ticket for the wrong door is gone."""
    service.text(STRANGER, "no heat at 9 quarry street apt 3B")
    answer = service.text(STRANGER, words)
    assert _report(service, answer)["apartment"] == "3A"
    assert [t["apartments"] for t in service.open_tickets()] == [["3A"]]
    assert topics_asked(answer["replies"]) == ["q_hot"]


@pytest.mark.parametrize("words", ["and 4B has none either", "my neighbor in 3A is cold too"])
def test_a_neighbors_door_is_no_other_door(service: Running, words: str) -> None:
    """It is named beside one's own."""
    service.text(STRANGER, "no heat at 9 quarry street apt 3B")
    assert _report(service, service.text(STRANGER, words))["apartment"] == "3B"


def test_a_phone_on_file_stays_where_it_lives(service: Running) -> None:
    """What is on file is changed by a person."""
    service.text(mobile("3B"), "no heat")
    assert _report(service, service.text(mobile("3B"), "sorry i meant 3A"))["apartment"] == "3B"


def test_a_superintendent_reports_no_trouble_of_the_own_home(service: Running) -> None:
    """ "3A and 4B are calling me" is a person's."""
    words = "this is the super at 9 quarry. 3A and 4B are calling me with no heat"
    answer = service.text(mobile("1B"), words)
    assert said(answer) == say("for_another", "en")
    assert answer["complaint"] is None


# --- while a check runs


def test_yes_that_is_right_does_not_say_that_it_warms_up(service: Running) -> None:
    """A "yes" with more behind it is still only a "yes"; "yes its getting warm" is an answer."""
    service.text(mobile("3B"), "the radiator in the bedroom is cold")
    answer = service.text(mobile("3B"), "yes that is right")
    assert "q_up" not in _answers(service, answer)
    assert _answers(service, service.text(mobile("3B"), "yes its getting warm"))["q_up"] == "warms"


def test_cold_before_the_check_can_tell_says_how_the_radiator_has_been(service: Running) -> None:
    """Where nobody has told that yet; the check itself is still to come."""
    for words in ("theres no heat", "since like 4pm", "whole apartment"):
        answer = service.text(mobile("2B"), words)
    assert "Please set the thermostat" in said(answer)
    answer = service.text(mobile("2B"), "stone cold")
    assert say("check_early", "en") in said(answer)
    told = _answers(service, answer)
    assert told["q_hot"] == "cold"
    assert "q_up" not in told


def test_who_has_set_it_to_heat_and_gets_warm_is_asked_no_more(service: Running) -> None:
    """Told to write again if it does not; the ticket stays until then."""
    service.text(mobile("4A"), "how do we turn on the heat? its freezing in here")
    service.text(mobile("4A"), "it says off")
    service.text(mobile("4A"), "ok i put it on heat")
    service.wait(minutes=20)
    answer = service.text(mobile("4A"), "radiator getting warm thanks")
    assert said(answer) == say("warms_on", "en")
    assert _report(service, answer)["state"] == "open"


# --- after a repair


def _asked_after(service: Running) -> None:
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    service.close(first["ticket"], **FIXED)
    assert topics_asked(service.wait(hours=15)) == ["right_now"]


def test_let_me_check_when_i_am_home_is_no_answer_yet(service: Running) -> None:
    """The question waits."""
    _asked_after(service)
    answer = service.text(mobile("2A"), "ok let me check when im home im at work till 6")
    assert said(answer) == say("welcome_asked", "en")
    assert said(service.text(mobile("2A"), "yes its warm")) == say("glad", "en")


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("it was ok for a day then out again", {"too_cold"}),
        ("si pero ahora hay mucho ruido", {"too_cold", "noise"}),
    ],
)
def test_what_sounds_like_yes_and_is_none(service: Running, words: str, kinds: set[str]) -> None:
    """It opens the report again, with what is new in it."""
    _asked_after(service)
    answer = service.text(mobile("2A"), words)
    report = _report(service, answer)
    assert report["state"] == "open"
    assert set(report["kinds"]) == kinds


# --- danger and STOP


def test_who_wants_no_texts_is_told_again_to_leave_and_to_stay_out(service: Running) -> None:
    """A smell that grows is danger again; START does not sound as if all were well."""
    service.text(mobile("1A"), "i smell gas")
    service.text(mobile("1A"), "STOP")
    again = service.text(mobile("1A"), "the smell is really strong now")
    assert said(again) == say("danger_gas", "en")
    assert say("danger_noted", "en") in said(service.text(mobile("1A"), "START"))
