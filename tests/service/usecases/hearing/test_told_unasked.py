"""What a household tells without being asked: it is used, helped with, and not asked for."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import Running, mobile, said, topics_asked

from rules.asking.conversation import Conversation, State
from rules.asking.sayings import say
from rules.model import TopicId
from service.usecases.hearing.read_text import read_in_talk

DEAD = "stat_batteries_dead"


def _answers(service: Running, answer: dict[str, str]) -> dict[str, str]:
    facts = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")["facts"]
    return {f["topic"]: f["means"] for f in facts if f["type"] == "answered"}


def _suspects(service: Running, ticket: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = service.get(f"/api/v1/tickets/{ticket}", "desk")["suspects"]
    return found


def test_help_comes_with_the_first_reply(service: Running) -> None:
    """Common practice: about half of the visits to one cold home end at a setting or a battery."""
    first = service.text(mobile("2A"), "thermostat says OFF and im freezing")
    assert say("help_mode", "en") in said(first)
    assert "q_mode" not in topics_asked(first["replies"])
    assert len(first["replies"]) == 2
    second = service.text(mobile("2A"), "3")
    assert say("help_mode", "en") not in said(second)


@pytest.mark.parametrize(
    ("words", "language"),
    [
        ("no heat and the screen is blank. I changed the batteries last week", "en"),
        ("la pantalla esta apagada y hace frio, ya le puse pilas nuevas", "es"),
    ],
)
def test_new_batteries_are_not_asked_for_again(service: Running, words: str, language: str) -> None:
    """Nor are the old ones what is suspected first any more."""
    first = service.text(mobile("2A"), words)
    assert say("help_batteries", language) not in said(first)
    assert _answers(service, first)["q_batteries"] == "changed"
    service.text(mobile("1B"), "no heat and the screen is blank")
    suspects = [s for t in service.open_tickets() for s in _suspects(service, t["id"])]
    dead = {s["component"]: s["probability"] for s in suspects if s["fault"] == DEAD}
    assert dead.get("2A.thermostat", 0.0) < dead["1B.thermostat"] / 2


@pytest.mark.parametrize(
    ("words", "topic", "means"),
    [
        ("I set it to heat now", "q_mode", "heat"),
        ("closed the window", "q_window", "closed"),
        ("the kids left the window open, closed it now", "q_window", "closed"),
        ("ya la cerre", "q_window", "closed"),
    ],
)
def test_what_was_done_is_noted_and_ends_nothing(
    service: Running, words: str, topic: str, means: str
) -> None:
    """Whether it helped is not said yet; the question that is out is put again, not in other words."""
    service.text(mobile("2A"), "its freezing, thermostat says OFF and the window is open")
    done = service.text(mobile("2A"), words)
    assert done["complaint"] is not None
    assert say("noted_short", "en") in said(done) or say("noted_short", "es") in said(done)
    assert topics_asked(done["replies"]) == ["q_hot"]
    assert _answers(service, done)[topic] == means
    assert len(service.open_tickets()) == 1


@pytest.mark.parametrize(
    "words",
    [
        "it was set to off, my bad, its warm now",
        "changed the batteries and its working now",
        "cambie las pilas y ya prendio",
    ],
)
def test_what_was_done_and_has_helped_ends_it(service: Running, words: str) -> None:
    """Also where "warm" would answer the question that is out."""
    service.text(mobile("2A"), "im freezing in here")
    service.text(mobile("2A"), words)
    assert service.open_tickets() == []


def test_the_same_trouble_next_door_is_no_end_and_no_report_of_theirs(service: Running) -> None:
    """Said of 2B by 2A: it speaks for a shared cause, opens nothing for 2B and is not told to them."""
    service.text(mobile("2A"), "its cold in here")
    answer = service.text(mobile("2A"), "2B has the same problem")
    facts = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")["facts"]
    assert [f["other"] for f in facts if f["type"] == "neighbor"] == ["2B"]
    (ticket,) = service.open_tickets()
    assert ticket["apartments"] == ["2A"]
    theirs = service.text(mobile("2B"), "no heat")
    assert "2A" not in said(theirs)


def test_whoever_turned_it_down_is_not_asked_how_low(service: Running) -> None:
    """ "All the way down and still boiling" answers the check and the setting."""
    first = service.text(
        mobile("2A"), "84 in here, i turned it all the way down and the radiator is still boiling"
    )
    assert _answers(service, first)["q_down"] == "still_hot"
    assert topics_asked(first["replies"]) == ["read_back"]


def test_no_thermostat_no_check(service: Running) -> None:
    """Told to turn it up, they have nothing to turn: the check is called off and we go on."""
    service.text(mobile("1A"), "no heat in here at all")
    service.text(mobile("1A"), "lukewarm")
    answer = service.text(mobile("1A"), "we dont have a thermostat")
    assert say("turn_cannot", "en") in said(answer)
    assert answer["replies"][-1]["asks"] is not None


def test_cold_is_the_water_where_only_that_is_reported(service: Running) -> None:
    """Hot water is out and the heat is fine: "cold" makes no cold home of it."""
    service.text(mobile("2B"), "no hot water since this morning, heat is fine")
    answer = service.text(mobile("2B"), "cold")
    complaint = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    assert complaint["kinds"] == ["no_hot_water"]
    assert _answers(service, answer)["q_dhw"] == "none"


@pytest.mark.parametrize("words", ["my neighbor can let you in", "llame antes de venir"])
def test_how_to_get_in_is_noted(service: Running, words: str) -> None:
    """Neither misunderstood nor a wish for texts: noted, and the question is put as it was."""
    first = service.text(mobile("2A"), "no heat")
    answer = service.text(mobile("2A"), words)
    assert say("noted_short", "en") in said(answer) or say("noted_short", "es") in said(answer)
    assert topics_asked(answer["replies"]) == topics_asked(first["replies"])


def test_a_first_text_that_asks_when_is_greeted_like_any_other(service: Running) -> None:
    """The safety line and a question, not only "your report is open"."""
    first = service.text(mobile("2A"), "my heat is out, how long will it take?")
    assert say("safety_gas", "en") in said(first)
    assert topics_asked(first["replies"]) != []


def test_whoever_asks_about_the_oven_is_told_no(service: Running) -> None:
    """Ovens for heat: CO and burns (fire-service advice, from memory)."""
    first = service.text(mobile("2A"), "can i use my oven to heat")
    assert say("safety_no_oven", "en") in said(first)


@pytest.mark.parametrize("words", ["i already told you", "ya te dije", "i am not there cant look"])
def test_whoever_has_no_more_to_say_is_not_asked_again_in_other_words(
    service: Running, words: str
) -> None:
    """The next thing follows, and nobody is handed to a person for it."""
    first = service.text(mobile("2A"), "no heat")
    answer = service.text(mobile("2A"), words)
    assert topics_asked(answer["replies"]) != topics_asked(first["replies"])
    assert say("person", "en") not in said(answer)


def test_what_was_called_over_too_soon_is_there_again(service: Running) -> None:
    """ "Never mind" takes back that it was over, not a report that is none any more."""
    service.text(mobile("2B"), "no heat")
    service.text(mobile("2B"), "heat came back on by itself")
    assert service.open_tickets() == []
    again = service.text(mobile("2B"), "nvm its off again")
    complaint = service.get(f"/api/v1/complaints/{again['complaint']}", "desk")
    assert complaint["kinds"] == ["too_cold"]


def test_heat_that_stopped_is_no_trouble_that_stopped(service: Running) -> None:
    """Said with a technician's name for the day and "to fix it" beside it."""
    service.text(mobile("2A"), "heat stopped after the guy came tuesday to fix it")
    assert len(service.open_tickets()) == 1


@pytest.mark.parametrize("words", ["what do you mean?", "huh", "no entiendo", "¿cómo?"])
def test_whoever_does_not_see_what_we_ask_gets_it_in_other_words(
    service: Running, words: str
) -> None:
    """Nor is the question dropped as if they did not know."""
    service.text(mobile("2A"), "no heat")
    answer = service.text(mobile("2A"), words)
    assert topics_asked(answer["replies"]) == ["q_hot"]
    assert "Put a hand near" in said(answer) or "Acerque la mano" in said(answer)


def test_new_batteries_are_not_low_ones(service: Running) -> None:
    """Asked what the screen shows, too; it is noted, and does not say what it shows."""
    asked = Conversation(state=State.ASKING, current=TopicId("q_screen"))
    assert read_in_talk("the batteries are new", asked).answer is None
    service.text(mobile("2A"), "no heat")
    service.text(mobile("2A"), "3")
    answer = service.text(mobile("2A"), "the batteries are new")
    assert _answers(service, answer) == {"q_hot": "cold", "q_batteries": "changed"}


def test_a_no_that_tells_more_objects_to_nothing(service: Running) -> None:
    """ "No batteries at home" is no "no" to "is that right?"."""
    service.text(mobile("1B"), "54 degrees in here, the thermostat is blank")
    answer = service.text(mobile("1B"), "no batteries at home")
    assert say("change", "en") not in said(answer)
    assert _answers(service, answer)["q_batteries"] == "old"
