"""What tenants mean by few words, given what they have reported, and what they need not be asked."""

from __future__ import annotations

import pytest
from whole_service import Running, building_document, fill, mobile, said, topics_asked

from rules.asking.sayings import say


def _kinds(service: Running, complaint: str) -> list[str]:
    found: list[str] = service.get(f"/api/v1/complaints/{complaint}", "desk")["kinds"]
    return found


# --- over, and not over


@pytest.mark.parametrize("words", ["its off again", "no, sigue igual", "nope", "still nothing"])
def test_what_comes_back_is_reported_anew(service: Running, words: str) -> None:
    """Nobody who said last night that the heat is on again is asked what "again" is about."""
    before = service.text(mobile("2A"), "heat is out")
    service.text(mobile("2A"), "never mind it just came on")
    service.wait(hours=10)
    after = service.text(mobile("2A"), words)
    assert after["complaint"] not in (None, before["complaint"])
    assert _kinds(service, after["complaint"]) == ["too_cold"]
    assert "kind" not in topics_asked(after["replies"])


@pytest.mark.parametrize("words", ["no problem", "thanks again", "no hay de que"])
def test_courtesy_reports_nothing(service: Running, words: str) -> None:
    """After "we close your report" a polite word opens none."""
    service.text(mobile("2A"), "heat is out")
    service.text(mobile("2A"), "never mind it just came on")
    service.text(mobile("2A"), words)
    assert service.open_tickets() == []


def test_again_a_week_later_is_of_something_unknown(service: Running) -> None:
    """What was over for a week is not what "again" must mean: it is asked."""
    service.text(mobile("2A"), "heat is out")
    service.text(mobile("2A"), "never mind it just came on")
    service.wait(days=7)
    assert topics_asked(service.text(mobile("2A"), "its off again")["replies"]) == ["kind"]


@pytest.mark.parametrize(
    ("report", "works", "ends"),
    [
        ("no hot water in shower", "yes heat is fine", False),
        ("no hay agua caliente", "la calefaccion si funciona", False),
        ("no heat at all", "hot water is fine", False),
        ("no hot water in shower", "hot water works now", True),
        ("no heat at all", "heat is working now", True),
    ],
)
def test_what_works_ends_no_report_of_something_else(
    empty: Running, report: str, works: str, ends: bool
) -> None:
    """ "The heat is fine" does not bring hot water back."""
    document = building_document()
    document["heat_sources"][0]["hot_water"] = "indirect"
    service = fill(empty, document)
    complaint = service.text(mobile("2B"), report)["complaint"]
    service.text(mobile("2B"), works)
    closed = service.get(f"/api/v1/complaints/{complaint}", "desk")["closed_at"]
    assert (closed is not None) is ends


def test_all_good_ends_a_report_whatever_was_asked(service: Running) -> None:
    """ "All" is one of the answers to "which rooms?", but not in "all good"."""
    complaint = service.text(mobile("2A"), "its cold")["complaint"]
    for _ in range(5):
        asks = topics_asked(service.text(mobile("2A"), "0")["replies"])
        if "q_rooms" in asks:
            break
    assert said(service.text(mobile("2A"), "all good")) == say("glad_closed", "en")
    assert service.get(f"/api/v1/complaints/{complaint}", "desk")["closed_at"] is not None


# --- a number, a time, a screen


@pytest.mark.parametrize(("number", "kind"), [("62", "too_cold"), ("84", "too_hot")])
def test_how_warm_it_is_says_what_is_wrong(service: Running, number: str, kind: str) -> None:
    """Asked what is wrong, somebody who sends what the room has needs no list."""
    service.text(mobile("2A"), "hello")
    told = service.text(mobile("2A"), number)
    assert _kinds(service, told["complaint"]) == [kind]
    assert "kind" not in topics_asked(told["replies"])


def test_seventy_two_says_nothing_of_what_is_wrong(service: Running) -> None:
    """Between cold and hot the list is offered once more."""
    service.text(mobile("2A"), "hello")
    assert topics_asked(service.text(mobile("2A"), "72")["replies"]) == ["kind"]


def test_when_the_heat_comes_on_tells_when_it_bangs(service: Running) -> None:
    """Of a noise it is a time, not a question when heat will come; with a question mark it asks."""
    complaint = service.text(mobile("1A"), "pipes bang every morning")["complaint"]
    service.text(mobile("1A"), "when the heat comes on")
    facts = service.get(f"/api/v1/complaints/{complaint}", "desk")["facts"]
    assert ("q_noise_when", "start") in {(f.get("topic"), f.get("means")) for f in facts}
    assert "T-" in said(service.text(mobile("1A"), "when does the heat come on?"))


def test_who_reads_both_numbers_is_not_asked_for_the_screen(service: Running) -> None:
    """Whoever tells what it shows and what it is set to has seen that the screen shows something."""
    service.text(mobile("1B"), "its 61 in here and i have it set to 72")
    asked = []
    for _ in range(5):
        asked += topics_asked(service.text(mobile("1B"), "not sure")["replies"])
    assert asked
    assert not {"q_screen", "q_read", "q_set"} & set(asked)


def test_nothing_is_asked_of_a_blank_thermostat(service: Running) -> None:
    """Nobody reads a temperature off a dark screen, or sets it."""
    answer = service.text(mobile("2A"), "thermostat screen is blank and no heat")
    texts, asked = [said(answer)], topics_asked(answer["replies"])
    for _ in range(5):
        answer = service.text(mobile("2A"), "0")
        texts.append(said(answer))
        asked += topics_asked(answer["replies"])
    assert not {"q_set", "q_mode", "q_screen"} & set(asked)
    assert not any("thermostat say" in text or "set the thermostat" in text for text in texts)


def test_who_reads_off_is_not_asked_for_the_screen(service: Running) -> None:
    """Whoever has read OFF on it has seen that it is not dark."""
    service.text(mobile("2A"), "no heat, radiator is cold in every room")
    told = service.text(mobile("2A"), "thermostat says OFF")
    asked = topics_asked(told["replies"])
    for _ in range(4):
        asked += topics_asked(service.text(mobile("2A"), "not sure")["replies"])
    assert not {"q_mode", "q_screen"} & set(asked[1:])


# --- enough of questions


@pytest.mark.parametrize(
    "words", ["stop asking me stuff and send somebody", "ya dejen de preguntar y manden a alguien"]
)
def test_enough_of_questions_is_for_a_person(service: Running, words: str) -> None:
    """Whoever is tired of questions gets none; it does not opt out of texts."""
    service.text(mobile("4A"), "its so cold")
    tired = service.text(mobile("4A"), words)
    assert topics_asked(tired["replies"]) == []
    assert said(tired) in {say("person", "en"), say("person", "es")}
    assert service.wait(hours=3) == []


def test_one_who_was_not_understood_may_still_report(service: Running) -> None:
    """Handed to a person for "hello" and a sign, "cold" begins a report like any other."""
    for words in ("hello", "heat", "\N{SHRUG}"):
        answer = service.text(mobile("2B"), words)
    assert said(answer) == say("person", "en")
    assert "Your report is T-" in said(service.text(mobile("2B"), "cold"))


def test_danger_and_first_aid(service: Running) -> None:
    """Who is told to leave for CO is not told to put on blankets first."""
    told = said(
        service.text(
            mobile("3B"),
            "me and the kids have headaches since the heat came on and grandma is confused and cold",
        )
    )
    assert told == say("danger_co", "en")


# --- a "yes" with more, and a time


@pytest.mark.parametrize("words", ["yes its ok now", "si ya esta bien", "yeah, all fixed"])
def test_a_yes_before_the_end_is_still_the_end(service: Running, words: str) -> None:
    """Whatever was asked last, "yes, it is fine now" ends the report."""
    complaint = service.text(mobile("2A"), "its cold")["complaint"]
    service.text(mobile("2A"), words)
    assert service.get(f"/api/v1/complaints/{complaint}", "desk")["closed_at"] is not None


@pytest.mark.parametrize("words", ["what time", "and when?", "a que hora"])
def test_a_time_asked_for_is_told(service: Running, words: str) -> None:
    """ "What time" from somebody whose report is open asks when we act."""
    service.text(mobile("2A"), "its cold and the radiator is cold")
    assert "T-" in said(service.text(mobile("2A"), words))
