"""What tenants write beside the answers, played whole: each was seen to go wrong once."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from whole_service import BUILDING, Running, household_rows, mobile, said, topics_asked

from rules.asking.conversation import Conversation, State
from rules.asking.sayings import say
from rules.model import TopicId
from service.sms.segments import fold
from service.store.tables import Alert
from service.usecases.hearing.read_text import read_in_talk

STRANGER = "+12125550177"


def _alerts(service: Running) -> list[str]:
    with service.services.db.reading() as session:
        return list(session.scalars(select(Alert.what)))


def _report(service: Running, answer: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    return found


def _answers(service: Running, answer: dict[str, Any]) -> dict[str, str]:
    facts = _report(service, answer)["facts"]
    return {f["topic"]: f["means"] for f in facts if f["type"] == "answered"}


@pytest.fixture
def two_homes(service: Running) -> Running:
    """The phone of 2A is on file for 4B as well."""
    more = [row | {"mobile": mobile("2A")} for row in household_rows() if row["apartment"] == "4B"]
    body = [row for row in household_rows() if row["apartment"] != "4B"] + more
    path = f"/api/v1/buildings/{BUILDING}/households"
    assert service.call("PUT", path, "owner", json=body).status_code == 200
    return service


# --- another home, another building


@pytest.mark.parametrize(
    ("words", "language"),
    [
        ("my neighbor in 3B has no heat she doesnt have a phone", "en"),
        ("la vecina del 3B no tiene calefaccion", "es"),
    ],
)
def test_a_neighbors_trouble_is_nobodys_report(service: Running, words: str, language: str) -> None:
    """Neither of the home that wrote nor of the one that is named; the desk is told."""
    answer = service.text(mobile("2A"), words)
    assert said(answer) == fold(say("for_another", language))
    assert answer["complaint"] is None
    assert service.open_tickets() == []
    assert _alerts(service) == ["tells of another home"]


def test_a_neighbors_trouble_beside_the_own_is_of_the_own_report(service: Running) -> None:
    """Whoever has no heat and says so of a neighbor has told more."""
    service.text(mobile("2A"), "no heat")
    more = service.text(mobile("2A"), "my neighbor has no hot water")
    assert _report(service, more)["kinds"] == ["too_cold"]
    assert say("noted_short", "en") in said(more)


def test_who_has_moved_out_is_not_asked_what_is_wrong(service: Running) -> None:
    """A person takes the number off."""
    assert said(service.text(mobile("2A"), "ya no vivo ahi")) == fold(say("moved", "es"))
    assert _alerts(service) == ["has moved out"]


def test_one_of_two_homes_named_beside_and_is_that_home(two_homes: Running) -> None:
    """ "And 2A has no hot water" is no neighbor's, of a phone that is on file for 2A."""
    first = two_homes.text(mobile("2A"), "no heat in 4B")
    second = two_homes.text(mobile("2A"), "and 2A has no hot water")
    assert _report(two_homes, first)["kinds"] == ["too_cold"]
    assert _report(two_homes, second)["apartment"] == "2A"
    assert _report(two_homes, second)["kinds"] == ["no_hot_water"]


@pytest.mark.parametrize("words", ["the other one too", "4B too", "same in 4B", "el otro tambien"])
def test_the_other_one_too_reports_the_same_there(two_homes: Running, words: str) -> None:
    """We have said "you can tell us of the other home after that"."""
    two_homes.text(mobile("2A"), "no heat in 2A")
    other = two_homes.text(mobile("2A"), words)
    assert (_report(two_homes, other)["apartment"], _report(two_homes, other)["kinds"]) == (
        "4B",
        ["too_cold"],
    )


# --- half an address


@pytest.mark.parametrize(
    ("texts", "asked"),
    [
        (("no heat at 9 Quarry Street", "3B"), "place_door"),
        (("no heat at 9 quarry st", "3 b"), "place_door"),
        (("no heat apt 3B", "9 quarry"), "place_street"),
    ],
)
def test_only_the_missing_half_is_asked_for(
    service: Running, texts: tuple[str, str], asked: str
) -> None:
    """A stranger who has told the street is asked for the door, and the other way round."""
    first = service.text(STRANGER, texts[0])
    assert say(asked, "en") in said(first)
    second = service.text(STRANGER, texts[1])
    assert _report(service, second)["apartment"] == "3B"


def test_an_address_that_is_not_ours_is_not_asked_for_as_if_there_were_none(
    service: Running,
) -> None:
    """ "We could not find that home", and a door that is not in the house is said to be the door."""
    assert say("place_again", "en") in said(service.text(STRANGER, "no heat 15 Elm street 2C"))
    assert say("place_door_again", "en") in said(service.text(STRANGER, "sorry 9 quarry st"))


@pytest.mark.parametrize("words", ["ok", "im at work", "gracias"])
def test_ok_is_no_address(service: Running, words: str) -> None:
    """Asked for a door, somebody who will send it later is not told that there is none such."""
    service.text(STRANGER, "no heat at 9 Quarry Street")
    later = service.text(STRANGER, words)
    assert said(later) in {fold(say("welcome_asked", spoken)) for spoken in ("en", "es")}
    assert _report(service, service.text(STRANGER, "3B"))["apartment"] == "3B"


def test_anothers_door_is_not_the_strangers(service: Running) -> None:
    """ "No heat, 4B has none either": a stranger who says so does not live in 4B."""
    service.text(STRANGER, "no heat, 4B has none either")
    told = service.text(STRANGER, "9 quarry st")
    assert say("place_door", "en") in said(told)
    both = service.text("+12125550178", "no heat 9 Quarry Street 3B, 4B has none either")
    assert _report(service, both)["apartment"] == "3B"


# --- what is said of others, by their doors


@pytest.mark.parametrize(
    ("words", "other", "same"),
    [
        ("4B has none either", "4B", True),
        ("apt 3A is cold too", "3A", True),
        ("en el 4B tampoco hay calefaccion, lo mismo", "4B", True),
    ],
)
def test_what_is_said_of_a_named_home_is_kept_as_said_of_it(
    service: Running, words: str, other: str, *, same: bool
) -> None:
    """A fact of the report of whoever says so: nobody there has reported, and nobody there is told."""
    service.text(mobile("2A"), "no heat")
    told = service.text(mobile("2A"), words)
    facts = _report(service, told)["facts"]
    said_of = [(f["other"], f["same"]) for f in facts if f["type"] == "neighbor"]
    assert said_of == [(other, same)]
    assert "q_neigh" not in _answers(service, told)
    assert service.only_ticket()["apartments"] == ["2A"]
    assert {row.to for row in service.gateway.sent} <= {mobile("2A")}
    asked = topics_asked(told["replies"])
    for _ in range(5):
        asked += topics_asked(service.text(mobile("2A"), "0")["replies"])
    assert "q_neigh" not in asked


def test_a_door_that_is_not_there_is_hearsay_of_nobody(service: Running) -> None:
    """ "9D has none either" is a "yes, others too" like any other."""
    service.text(mobile("2A"), "no heat")
    told = service.text(mobile("2A"), "9D has none either")
    assert _answers(service, told) == {"q_neigh": "yes"}


# --- in an open report


@pytest.mark.parametrize("words", ["still nothing", "todavia nada"])
def test_still_nothing_is_no_dark_screen(words: str) -> None:
    """Asked what the screen shows, a day later; "nothing" alone is what it shows."""
    asked = Conversation(state=State.ASKING, current=TopicId("q_screen"))
    assert read_in_talk(words, asked).answer is None
    seen = read_in_talk("nothing", asked).answer
    assert seen is not None
    assert seen.means == "blank"


def test_what_others_feel_is_no_answer_about_this_home(service: Running) -> None:
    """ "Everyone is freezing" says nothing of the radiator; "cold, and my neighbor too" does."""
    first = service.text(mobile("2A"), "no heat")
    assert "q_hot" in topics_asked(first["replies"])
    others = service.text(mobile("2A"), "everyone is freezing")
    assert _answers(service, others) == {"q_neigh": "yes"}
    both = service.text(mobile("2A"), "cold, and my neighbor too")
    assert _answers(service, both) == {"q_neigh": "yes", "q_hot": "cold"}


def test_a_leak_told_later_is_warned_of(service: Running) -> None:
    """While a check runs too."""
    service.text(mobile("2A"), "too hot")
    told = service.text(mobile("2A"), "radiator is leaking too")
    assert said(told).startswith(say("safety_water", "en"))
    again = service.text(mobile("2A"), "it still leaks")
    assert say("safety_water", "en") not in said(again)


def test_two_days_late_is_not_as_soon_as_we_can(service: Running) -> None:
    """An hour after the time by which we meant to act we say that we are late, and tell a person."""
    service.text(mobile("2A"), "no heat")
    assert "so long" not in said(service.text(mobile("2A"), "any update"))
    service.wait(hours=48)
    late = service.text(mobile("2A"), "still cold, nobody came")
    assert said(late).startswith("We are sorry it takes so long.")
    assert _alerts(service)[-1] == "waits past the time"


def test_question_marks_hours_later_ask_after_the_report(service: Running) -> None:
    """Whatever was asked last, and left."""
    service.text(mobile("2A"), "no heat")
    service.wait(hours=3)
    assert "is open." in said(service.text(mobile("2A"), "???"))


def test_who_reports_and_complains_that_nobody_came_is_greeted(service: Running) -> None:
    """Perhaps they called somebody else; to us it is new."""
    first = service.text(mobile("2A"), "no heat for 3 days and nobody came")
    assert "Your report is T-" in said(first)
    assert topics_asked(first["replies"])


def test_why_do_you_ask_costs_nothing(service: Running) -> None:
    """Three times in a row the reason is given, and nobody is sent to a person for it."""
    service.text(mobile("2A"), "no heat")
    for words in ("why do you ask", "what for", "but why"):
        answer = service.text(mobile("2A"), words)
        assert said(answer).startswith(say("why", "en"))
        assert topics_asked(answer["replies"]) == ["q_hot"]


def test_an_answer_with_a_question_is_both(service: Running) -> None:
    """ "Cold. How long will it take?": the answer counts, and the time is told."""
    service.text(mobile("2A"), "no heat")
    both = service.text(mobile("2A"), "cold. how long will it take?")
    assert _answers(service, both) == {"q_hot": "cold"}
    assert said(both).startswith(("We act as soon as we can.", "We aim to act by "))


def test_who_is_not_home_is_not_told_to_turn_the_thermostat(service: Running) -> None:
    """The question waits for them."""
    service.text(mobile("2A"), "no heat")
    away = service.text(mobile("2A"), "im not home right now")
    assert said(away) == say("welcome_asked", "en")
    assert _answers(service, service.text(mobile("2A"), "3")) == {"q_hot": "cold"}


@pytest.mark.parametrize("words", ["wait no 3", "perdon era el 3", "i meant cold"])
def test_the_last_answer_is_put_right_in_so_many_words(service: Running, words: str) -> None:
    """Without BACK, while the next question is out, which stays."""
    service.text(mobile("2A"), "no heat")
    asked = service.text(mobile("2A"), "1")
    after = service.text(mobile("2A"), words)
    assert _answers(service, after) == {"q_hot": "cold"}
    assert topics_asked(after["replies"]) == topics_asked(asked["replies"])


def test_thumbs_are_no_failed_answers(service: Running) -> None:
    """ "OK" in signs is answered like "ok"."""
    service.text(mobile("2A"), "no heat")
    for _ in range(3):
        assert said(service.text(mobile("2A"), "👍")) == say("welcome_asked", "en")


def test_no_english_is_no_not_sure(service: Running) -> None:
    """ "No entiendo ingles" is not noted as an answer."""
    first = service.text(mobile("2A"), "no heat")
    told = service.text(mobile("2A"), "no entiendo ingles")
    assert topics_asked(told["replies"]) == topics_asked(first["replies"])
    assert _answers(service, told) == {}


def test_no_thermostat_is_noted(service: Running) -> None:
    """Whatever was asked: nobody is asked for its screen then."""
    service.text(mobile("2A"), "its cold")
    told = service.text(mobile("2A"), "i dont have a thermostat")
    assert _answers(service, told) == {"q_screen": "no_screen"}
    assert say("noted_short", "en") in said(told)


def test_hot_at_84_set_is_told_to_set_it_lower(service: Running) -> None:
    """By text, before anybody drives."""
    service.text(mobile("2A"), "its 84 in here")
    assert say("help_lower", "en") in said(service.text(mobile("2A"), "its set to 84"))


# --- after a repair


def _repaired(service: Running, words: str) -> None:
    ticket = service.text(mobile("2A"), words)["ticket"]
    service.close(ticket)
    service.wait(hours=15)


@pytest.mark.parametrize(
    "words", ["it worked for an hour and then stopped", "funciono una hora y se volvio a apagar"]
)
def test_for_an_hour_is_no(service: Running, words: str) -> None:
    """A repair that held for an hour did not help."""
    _repaired(service, "no heat")
    service.text(mobile("2A"), words)
    assert len(service.open_tickets()) == 1


def test_out_again_after_yes_is_the_same_trouble_reported_anew(service: Running) -> None:
    """ "It is right now" in the morning, "out again" at night."""
    _repaired(service, "no heat")
    before = service.text(mobile("2A"), "yes")
    service.wait(hours=10)
    after = service.text(mobile("2A"), "its out again")
    assert _report(service, after)["kinds"] == ["too_cold"]
    assert after["complaint"] != before["complaint"]
    assert "kind" not in topics_asked(after["replies"])
