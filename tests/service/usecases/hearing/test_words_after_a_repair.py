"""What a household writes between a repair and the question about it, and after two that failed."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import Running, household_rows, mobile, said, topics_asked

from rules.asking.sayings import say

COLD = "no heat in the whole apartment"


def _repaired(service: Running, words: str = COLD) -> dict[str, Any]:
    """A report that a technician has just ended."""
    first = service.text(mobile("2A"), words)
    service.close(first["ticket"])
    return first


@pytest.mark.parametrize(
    "words", ["no", "same", "nobody came", "its still not working", "sigue igual"]
)
def test_no_before_the_question_is_a_no(service: Running, words: str) -> None:
    """The same report and ticket are open again, and nobody is asked what is wrong."""
    first = _repaired(service)
    again = service.text(mobile("2A"), words)
    assert (again["complaint"], again["ticket"]) == (first["complaint"], first["ticket"])
    assert said(again).startswith(("We are sorry", "Lo sentimos"))
    assert "kind" not in topics_asked(again["replies"])
    assert "right_now" not in topics_asked(service.wait(hours=20))


@pytest.mark.parametrize("words", ["yes", "all good", "todo bien", "no problem", "no more noise"])
def test_yes_before_the_question_is_a_yes(service: Running, words: str) -> None:
    """Nobody asks what is wrong, and nobody asks next morning."""
    _repaired(service)
    assert said(service.text(mobile("2A"), words)) in {say("glad", "en"), say("glad", "es")}
    assert "right_now" not in topics_asked(service.wait(hours=20))


@pytest.mark.parametrize(
    "words", ["the guy left a mess", "when do you come?", "it is 66 now", "y entonces?"]
)
def test_what_says_neither_is_asked_at_once(service: Running, words: str) -> None:
    """ "Is it right now?", instead of "what is wrong?" or "you have no open report"."""
    _repaired(service)
    assert topics_asked(service.text(mobile("2A"), words)["replies"]) == ["right_now"]


def test_yes_but_is_no_yes(service: Running) -> None:
    """ "Yes, but the bedroom is cold" opens it again."""
    first = _repaired(service)
    assert topics_asked(service.wait(hours=20)) == ["right_now"]
    again = service.text(mobile("2A"), "yes but the bedroom is cold")
    assert again["ticket"] == first["ticket"]
    assert said(again).startswith("We are sorry")
    assert service.get(f"/api/v1/tickets/{first['ticket']}", "desk")["state"] == "open"


def test_a_repair_that_fails_twice_is_a_persons(service: Running) -> None:
    """The second "no" asks nothing more: the desk is told, and so is the household."""
    first = _repaired(service)
    assert "We told a person" not in said(service.text(mobile("2A"), "no"))
    service.close(first["ticket"])
    again = service.text(mobile("2A"), "no")
    assert "We told a person here" in said(again)
    assert topics_asked(again["replies"]) == []
    told = [a["what"] for a in service.get("/api/v1/alerts?state=open", "desk")]
    assert "repair failed again" in told


def test_a_yes_does_not_end_what_another_phone_has_opened_again(service: Running) -> None:
    """Two phones of a home: one is still cold, after which a "yes" of the other is about nothing."""
    rows = household_rows()
    second = "+12125550188"
    rows.append(rows[2] | {"name": "Somebody else", "mobile": second})
    answer = service.call("PUT", "/api/v1/buildings/quarry-9/households", "owner", json=rows)
    assert answer.status_code == 200, answer.text
    first = service.text(mobile("2A"), COLD)
    service.text(second, "it is cold here")
    service.close(first["ticket"])
    assert service.text(second, "still cold in here")["ticket"] == first["ticket"]
    service.text(mobile("2A"), "yes")
    assert service.get(f"/api/v1/tickets/{first['ticket']}", "desk")["state"] == "open"
