"""A page opened again hours or days later: the question waits, a repair is judged, news is there."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from at_the_door import Visitor, visitor
from whole_service import BUILDING, Running, mobile

from service.usecases.home.web_words import LANGUAGES, page_words


def _close(service: Running, ticket: str) -> None:
    body = {"fault": None, "component": None, "parts": [], "installed": None, "note": "done"}
    answer = service.call("POST", f"/api/v1/tickets/{ticket}/close", "truck", json=body)
    assert answer.status_code == 200, answer.text


def _tickets(service: Running, state: str = "open") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = service.get(f"/api/v1/tickets?state={state}", "desk")
    return found


def _checking(service: Running) -> Visitor:
    """A page on which a thermostat check runs."""
    at = visitor(service, "3B")
    at.send("report", kinds=["too_hot"], words="the radiator is burning hot")
    assert at.heading == "Please turn the heat down for a while"
    return at


def test_a_check_is_asked_about_whenever_the_page_is_opened(service: Running) -> None:
    """Forty hours later the question is still there, nobody was reminded, a person was told once."""
    at = _checking(service)
    service.wait(hours=40)
    at.open()
    assert at.hidden("topic") == "q_down"
    at.send("answer", choice="1")
    complaint = service.get(f"/api/v1/complaints/{_tickets(service)[0]['complaints'][0]}", "desk")
    assert [f["means"] for f in complaint["facts"] if f.get("topic") == "q_down"] == ["still_hot"]
    assert service.gateway.sent == []
    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert [a["what"] for a in alerts] == ["does not answer"]


def test_words_without_a_trouble_are_asked_what_is_wrong(service: Running) -> None:
    """The page asks it like a text, with the same choices."""
    at = visitor(service, "2A")
    at.send("report", words="radiator is hot")
    assert (at.heading, at.hidden("topic")) == ("What is wrong?", "kind")
    at.send("answer", choice="2")
    (ticket,) = _tickets(service)
    complaint = service.get(f"/api/v1/complaints/{ticket['complaints'][0]}", "desk")
    assert complaint["kinds"] == ["too_hot"]


def test_one_press_says_that_it_is_still_not_right(service: Running) -> None:
    """After a repair, before anybody has asked: the same report is open again."""
    at = _checking(service)
    (ticket,) = _tickets(service)
    _close(service, ticket["id"])
    at.open()
    assert "It is still not right" in at.words
    at.send("still")
    assert [t["id"] for t in _tickets(service)] == [ticket["id"]]
    at.open()
    assert "It is still not right" not in at.words


def test_ticking_the_same_trouble_after_a_repair_opens_it_again(service: Running) -> None:
    """Whoever overlooks the button and reports anew is understood the same way."""
    at = _checking(service)
    (ticket,) = _tickets(service)
    _close(service, ticket["id"])
    at.open()
    at.send("report", kinds=["too_hot"])
    assert [t["id"] for t in _tickets(service)] == [ticket["id"]]


def test_the_question_after_a_repair_waits_and_is_forgotten_in_the_end(service: Running) -> None:
    """Three days later it is still asked; after two weeks the page is ready for somebody else."""
    at = _checking(service)
    _close(service, _tickets(service)[0]["id"])
    service.wait(days=3)
    at.open()
    assert at.hidden("topic") == "right_now"
    service.wait(days=14)
    at.open()
    assert at.heading == "What is wrong?"
    assert 'name="topic"' not in at.page


def test_a_page_is_not_asked_what_a_text_was_asked(service: Running) -> None:
    """One home, two doors: no question twice, answered or not."""
    replies = service.text(mobile("3B"), "too hot in here")["replies"]
    asked = [r["asks"]["topic"] for r in replies if r["asks"]]
    service.text(mobile("3B"), "0")
    at = visitor(service, "3B")
    at.open("more")
    at.send("report", words="it is the bedroom too")
    for _ in range(6):
        if 'name="topic"' not in at.page or "See if it is time" in at.page:
            break
        assert at.hidden("topic") not in asked
        asked.append(at.hidden("topic"))
        at.send("answer", choice="0")
    assert len(asked) <= 5


def test_news_stands_on_the_page_until_its_time(service: Running) -> None:
    """What the desk told the building, in the page's language, until it said it would write again."""
    until = service.services.now() + timedelta(hours=5)
    body = {
        "id": "news-1",
        "texts": {
            "en": "The boiler is off until noon.",
            "es": "La caldera no anda hasta mediodía.",
        },
        "until": until.isoformat(),
    }
    path = f"/api/v1/buildings/{BUILDING}/broadcast"
    answer = service.call("POST", path, "desk", json=body)
    assert answer.status_code == 200, answer.text
    at, es = visitor(service, "1A"), visitor(service, "1B", "es")
    assert "The boiler is off until noon. We write again by 12 am tomorrow." in at.words
    assert "La caldera no anda hasta mediodía." in es.words
    service.wait(hours=6)
    at.open()
    assert "boiler" not in at.words


def test_what_comes_by_page_is_counted(service: Running) -> None:
    """The metrics of the ways in know the page: stored, and sent twice."""
    at = visitor(service, "2A")
    fields = {"kinds": ["too_cold"], "once": "a-form-sent-two-times"}
    at.send_exactly("report", fields)
    at.send_exactly("report", fields)
    at.send("danger", kind="gas")
    lines = service.call("GET", "/metrics").text.splitlines()
    assert 'inbound_total{result="stored",via="web"} 2.0' in lines
    assert 'inbound_total{result="duplicate",via="web"} 1.0' in lines


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_answer_after_a_repair_is_acknowledged(service: Running, language: str) -> None:
    """Yes: good to hear, and no question about it any more. No: sorry, and the report is open again."""
    t = page_words(language)
    homes = {apartment: visitor(service, apartment, language) for apartment in ("1A", "4B")}
    for at in homes.values():
        at.send("report", kinds=["noise"])
    for ticket in service.open_tickets():
        service.close(ticket["id"])
    service.wait(days=1)
    for at in homes.values():
        at.open()
        assert at.hidden("topic") == "right_now"
    homes["1A"].send("answer", choice="1")
    assert t["note_right"] in homes["1A"].words
    assert t["still"] not in homes["1A"].words
    homes["4B"].send("answer", choice="2")
    assert t["note_again"] in homes["4B"].words
    assert [ticket["apartments"] for ticket in service.open_tickets()] == [["4B"]]
