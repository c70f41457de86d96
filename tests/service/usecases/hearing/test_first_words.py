"""A first text that sounds as if all were well, tells of first dust, or gives but half an address."""

from __future__ import annotations

import pytest
from whole_service import Running, mobile, said, topics_asked

from rules.asking.sayings import say
from service.sms.segments import fold

STRANGER = "+12125550177"


@pytest.mark.parametrize("words", ["all good", "heat is on"])
def test_nobody_without_a_report_is_told_good_to_hear(service: Running, words: str) -> None:
    """A "not" may be lost in it: one question, and who is cold says so by one number."""
    answer = service.text(mobile("2A"), words)
    assert say("well_doubted", "en") in said(answer)
    assert topics_asked(answer["replies"]) == ["kind"]
    assert answer["complaint"] is None
    assert service.text(mobile("2A"), "1")["ticket"] is not None


def test_who_says_once_more_that_all_is_well_is_believed(service: Running) -> None:
    """The question has been put, and nobody is reminded of it."""
    service.text(mobile("2A"), "all good")
    assert said(service.text(mobile("2A"), "all good")) == say("glad", "en")
    assert service.wait(hours=5) == []
    assert service.open_tickets() == []


@pytest.mark.parametrize(
    "words",
    ["it is 69 in my apartment and i have the thermostat at 69", "estamos a 70 y puesto en 71"],
)
def test_who_first_tells_how_warm_it_is_has_a_report(service: Running, words: str) -> None:
    """Nobody writes that for nothing."""
    assert service.text(mobile("2A"), words)["ticket"] is not None


def test_well_again_of_a_report_just_closed_is_good_to_hear(service: Running) -> None:
    """Who has called it over may say so twice."""
    service.text(mobile("2A"), "no heat")
    service.text(mobile("2A"), "its fixed now")
    assert said(service.text(mobile("2A"), "works fine now")) == say("glad", "en")


@pytest.mark.parametrize(
    ("words", "language"),
    [
        ("smells like burning dust since the heat came on", "en"),
        ("huele a polvo quemado al prender la calefaccion", "es"),
    ],
)
def test_first_dust_has_its_word_and_no_question(
    service: Running, words: str, language: str
) -> None:
    """No report and no person, until it lasts."""
    answer = service.text(mobile("2A"), words)
    assert fold(say("dust", language)) in said(answer)
    assert topics_asked(answer["replies"]) == []
    assert service.open_tickets() == []
    assert service.text(mobile("2A"), "heater still smells like dust")["ticket"] is not None


def test_smoke_beside_dust_is_a_danger(service: Running) -> None:
    """Danger first."""
    answer = service.text(mobile("2A"), "smells like dust burning and smoke")
    assert say("danger_fire", "en") in said(answer)


@pytest.mark.parametrize(
    "words", ["q frio, no sube de 65. apto 3b", "tengo un bebe de 5 meses, no hay calor, apto 1b"]
)
def test_a_number_beside_a_door_is_no_street(service: Running, words: str) -> None:
    """We looked for nothing yet: the street is asked for."""
    answer = said(service.text(STRANGER, words))
    assert fold(say("place_street", "es")) in answer
    assert fold(say("place_again", "es")) not in answer
