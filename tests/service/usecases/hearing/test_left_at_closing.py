"""What is written after a technician's closing and is no word on the work; what is not asked then."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from whole_service import EVENING, Running, mobile, said, topics_asked

from rules.asking.sayings import say
from service.store.tables import NumberRow

NIGHT = EVENING + timedelta(hours=5)  # midnight
FIXED = {"fault": "valve_motor_dead", "component": "2A.valve"}


def _state(service: Running, first: dict[str, Any]) -> str:
    found: str = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")["state"]
    return found


def _asked_hot(service: Running, at: Any = EVENING) -> dict[str, Any]:
    service.move(at)
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    assert topics_asked(first["replies"]) == ["q_hot"]
    return first


@pytest.mark.parametrize("words", ["warm", "3", "0"])
def test_an_answer_to_what_was_asked_before_the_closing_is_none_on_the_work(
    service: Running, words: str
) -> None:
    """It is noted, opens nothing again, ends nothing, and the morning's question comes."""
    first = _asked_hot(service)
    service.close(first["ticket"], **FIXED)
    answer = service.text(mobile("2A"), words)
    assert said(answer) == say("noted_short", "en")
    assert _state(service, first) == "closed"
    assert topics_asked(service.wait(hours=20)) == ["right_now"]


def test_a_word_on_the_neighbors_is_none_on_the_work(service: Running) -> None:
    """ "No they are ok", to whoever had asked of the neighbors."""
    first = _asked_hot(service)
    with service.services.db.transaction() as session:
        row = session.get_one(NumberRow, mobile("2A"))
        row.conversation = {**(row.conversation or {}), "current": "q_neigh"}
    service.close(first["ticket"], **FIXED)
    assert said(service.text(mobile("2A"), "no they are ok")) == say("noted_short", "en")
    assert _state(service, first) == "closed"


def test_a_trouble_named_after_the_closing_is_a_no(service: Running) -> None:
    """Whatever was asked before."""
    first = _asked_hot(service)
    service.close(first["ticket"], **FIXED)
    assert said(service.text(mobile("2A"), "still cold in here")).startswith("We are sorry")
    assert _state(service, first) == "open"


@pytest.mark.parametrize("words", ["cold", "0", "no", "yes", "3"])
def test_nobody_judges_work_that_nobody_has_told_of(service: Running, words: str) -> None:
    """Closed in the night: who writes before morning is told first, and asked once."""
    first = _asked_hot(service, NIGHT - timedelta(hours=2))
    service.move(NIGHT)
    service.close(first["ticket"], **FIXED)
    service.move(NIGHT + timedelta(hours=7))
    answer = service.text(mobile("2A"), words)
    assert "We did some work on what you told us. Is it right now?" in said(answer)
    assert _state(service, first) == "closed"
    assert topics_asked(service.wait(hours=4)) == []
    assert said(service.text(mobile("2A"), "no")).startswith("We are sorry")


def test_a_trouble_named_before_the_household_knows_of_work_is_a_no(service: Running) -> None:
    """ "No heat" at seven in the morning."""
    first = _asked_hot(service, NIGHT - timedelta(hours=2))
    service.move(NIGHT)
    service.close(first["ticket"], **FIXED)
    service.move(NIGHT + timedelta(hours=7))
    service.text(mobile("2A"), "we still have no heat")
    assert _state(service, first) == "open"


def test_a_question_answered_in_the_night_is_not_asked_for_in_the_morning(service: Running) -> None:
    """A reminder is of a question that is still out when people get up, and of that alone."""
    _asked_hot(service, NIGHT - timedelta(hours=2))
    service.move(NIGHT)
    later = topics_asked(service.text(mobile("2A"), "its cold")["replies"])
    assert later not in ([], ["q_hot"])
    in_the_morning = service.move(NIGHT + timedelta(hours=8, minutes=30))
    assert topics_asked(in_the_morning) == later


def test_nobody_is_reminded_of_a_report_that_was_closed(service: Running) -> None:
    """At night or by day."""
    first = _asked_hot(service, NIGHT - timedelta(hours=2))
    service.move(NIGHT)
    service.close(first["ticket"], **FIXED)
    assert service.move(NIGHT + timedelta(hours=8, minutes=30)) == []


def test_a_phone_is_asked_once_a_morning(service: Running) -> None:
    """Two reports of one home, closed on one day."""
    for words in ("no heat in the whole apartment", "water leaks under the radiator"):
        answer = service.text(mobile("2A"), words)
        service.close(answer["ticket"], **FIXED)
    assert topics_asked(service.wait(hours=20)) == ["right_now"]


def test_where_nothing_was_found_nobody_says_that_work_is_done(service: Running) -> None:
    """No fault and no part: we looked."""
    first = _asked_hot(service)
    before = len(service.gateway.sent)
    service.close(first["ticket"], note="heat is fine")
    service.wait(minutes=1)  # sent now, or by a job a moment ago
    assert [one.text for one in service.gateway.sent[before:]] == [say("looked_done", "en")]
    (asked,) = service.wait(hours=20)
    assert "We looked at what you told us. Is it right now?" in asked["text"]


def test_what_hardly_changes_is_not_asked_again_after_a_repair(service: Running) -> None:
    """How warm it is and the radiator may be; what was asked the day before is not."""
    answer = first = service.text(mobile("2A"), "no heat in the whole apartment")
    before = set()
    for _ in range(8):
        asks = service.next_asks(answer["replies"])
        if asks is None or asks["topic"] == "read_back":
            break
        before.add(asks["topic"])
        answer = service.text(mobile("2A"), "3" if asks["choices"][1:] else "62")
    assert before - {"q_read", "q_hot"}
    service.close(first["ticket"], **FIXED)
    answer, after = service.text(mobile("2A"), "still no heat"), set()
    for _ in range(8):
        asks = service.next_asks(answer["replies"])
        if asks is None or asks["topic"] == "read_back":
            break
        after.add(asks["topic"])
        answer = service.text(mobile("2A"), "3" if asks["choices"][1:] else "62")
    assert after
    assert before & after <= {"q_read", "q_hot"}


def test_a_hot_tap_that_is_still_hot_needs_no_name(service: Running) -> None:
    """What was wrong is known, and how not to be burnt is said again."""
    first = service.text(mobile("2A"), "tap water comes out scalding hot")
    assert say("care_tap", "en") in said(first)
    assert topics_asked(first["replies"]) == []
    service.close(first["ticket"], **FIXED)
    again = service.text(mobile("2A"), "no")
    assert again["ticket"] == first["ticket"]
    assert topics_asked(again["replies"]) == []


def test_news_asked_for_after_the_question_puts_it_again(service: Running) -> None:
    """Whoever waits for us has no "no open report" from us, who have just asked of the work."""
    first = _asked_hot(service)
    service.close(first["ticket"], **FIXED)
    assert topics_asked(service.text(mobile("2A"), "any news?")["replies"]) == ["right_now"]
    assert topics_asked(service.text(mobile("2A"), "when do you come?")["replies"]) == ["right_now"]


def test_a_phone_that_is_on_no_file_is_answered_after_a_repair(service: Running) -> None:
    """Its report was taken, and it was told to text us if all is not well."""
    stranger = "+12125550177"
    first = service.text(stranger, "no heat at 9 Quarry Street, 3B")
    service.close(first["ticket"], **FIXED)
    for words in ("1", "any news?", "no"):
        assert service.text(stranger, words)["replies"]
