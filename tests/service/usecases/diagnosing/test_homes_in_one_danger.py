"""Homes in one danger are one place to go to, and each of them is told and heard for itself."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from whole_service import EVENING, Running, mobile, said

GAS, CO = "I smell gas", "our carbon monoxide alarm is going off"


def homes(service: Running) -> list[tuple[list[str], bool]]:
    """The homes of each open ticket, and whether it is a danger."""
    found = service.get("/api/v1/tickets?state=open", "desk")
    return sorted((t["apartments"], t["danger"]) for t in found)


def split(service: Running, ticket: dict[str, Any], complaint: str) -> None:
    """The desk takes a home off a ticket."""
    body = {"version": ticket["version"], "complaints": [complaint]}
    answer = service.call("POST", f"/api/v1/tickets/{ticket['id']}/split", "desk", json=body)
    assert answer.status_code == 200, answer.text


@pytest.mark.parametrize("words", [GAS, CO])
def test_two_homes_in_one_danger_are_one_ticket(service: Running, words: str) -> None:
    """One leak or one flue explains both: one ticket, due as the first was, with both homes."""
    first = service.text(mobile("1A"), words)
    before = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")
    service.wait(minutes=20)

    second = service.text(mobile("4B"), words)

    assert homes(service) == [(["1A", "4B"], True)]
    assert second["ticket"] == first["ticket"]
    ticket = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")
    assert ticket["respond_by"] == before["respond_by"]
    assert datetime.fromisoformat(ticket["respond_by"]) == EVENING
    assert ticket["suspects"][0]["explains"] == ["1A", "4B"]


def test_each_home_is_told_and_each_alert_is_seen_by_itself(service: Running) -> None:
    """Both are told to leave at once; who has seen one alert has not seen the other."""
    answers = [service.text(mobile(home), GAS) for home in ("1A", "4B")]

    assert all("leave" in said(answer).lower() for answer in answers)
    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert {a["message"] for a in alerts} == {a["message"] for a in answers}
    assert {a["ticket"] for a in alerts} == {answers[0]["ticket"]}
    path = f"/api/v1/alerts/{alerts[0]['id']}/acknowledge"
    assert service.call("POST", path, "desk").status_code == 200
    left = service.get("/api/v1/alerts?state=open", "desk")
    assert [a["id"] for a in left] == [alerts[1]["id"]]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (GAS, CO),  # nothing gives off both
        ("sparks come out of the outlet", "sparks in our outlet too"),  # wiring of the homes
        ("there is smoke in my kitchen", "smoke in our bedroom"),
    ],
)
def test_dangers_without_a_common_cause_stay_apart(service: Running, one: str, other: str) -> None:
    """Nothing of the plant would explain both, so each is gone to by itself."""
    service.text(mobile("1A"), one)
    service.text(mobile("4B"), other)

    assert homes(service) == [(["1A"], True), (["4B"], True)]


def test_half_a_day_makes_room_for_two(service: Running) -> None:
    """A smell of gas of this morning is not that of last night, and its ticket is not overdue."""
    service.text(mobile("1A"), GAS)
    service.wait(hours=13)
    later = service.text(mobile("4B"), GAS)

    assert homes(service) == [(["1A"], True), (["4B"], True)]
    ticket = service.get(f"/api/v1/tickets/{later['ticket']}", "desk")
    assert datetime.fromisoformat(ticket["respond_by"]) == service.services.now()


def test_who_is_cold_beside_them_is_not_in_danger(service: Running) -> None:
    """Four homes are cold, two of them smell gas: the two share the danger, the two others not."""
    for home in ("1A", "1B", "2A", "2B"):
        service.text(mobile(home), "no heat, it is freezing")
    for home in ("1A", "2B"):
        service.text(mobile(home), GAS)

    assert homes(service) == [(["1A", "2B"], True), (["1B", "2A"], False)]


def test_what_a_person_has_parted_stays_apart(service: Running) -> None:
    """The desk knows of two leaks: the home taken off stays off, and a third joins the others."""
    first = service.text(mobile("1A"), GAS)
    second = service.text(mobile("4B"), GAS)
    ticket = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")

    split(service, ticket, second["complaint"])
    assert homes(service) == [(["1A"], True), (["4B"], True)]
    service.text(mobile("4B"), "still smells of gas")
    service.text(mobile("2A"), GAS)

    assert homes(service) == [(["1A", "2A"], True), (["4B"], True)]
