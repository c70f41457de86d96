"""Alerts: a danger is tracked until somebody at the desk acknowledges it."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from sqlalchemy import select
from whole_service import Running, mobile

from service.auth.roles import Role
from service.store.tables import Alert


def _open(service: Running) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = service.get("/api/v1/alerts?state=open", "desk")
    return found


def _acknowledge(service: Running, alert: int) -> dict[str, Any]:
    answer = service.call("POST", f"/api/v1/alerts/{alert}/acknowledge", "desk")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_danger_is_one_alert_with_its_ticket(service: Running) -> None:
    """A danger raises one alert, which names the danger and leads to the ticket."""
    danger = service.text(mobile("1A"), "I smell gas")

    (alert,) = _open(service)

    assert alert["what"] == "danger: gas"
    assert alert["danger"]
    assert alert["ticket"] == danger["ticket"]
    assert alert["message"] == danger["message"]


def test_a_danger_nobody_acknowledges_is_raised_again(service: Running) -> None:
    """After ten minutes it is a new alert, and again after ten more; the ticket is the same."""
    service.text(mobile("1A"), "I smell gas")

    service.wait(minutes=9)
    assert len(_open(service)) == 1
    service.wait(minutes=1)
    assert len(_open(service)) == 2
    service.wait(minutes=10)
    found = _open(service)

    assert [a["raises_again"] for a in found] == [found[-1]["id"]] * 2 + [None]
    assert len({a["ticket"] for a in found}) == 1


def test_acknowledging_any_of_a_series_ends_it(service: Running) -> None:
    """The whole series is acknowledged, once, with a line in the ticket's history."""
    danger = service.text(mobile("1A"), "I smell gas")
    service.wait(minutes=25)
    newest = _open(service)[0]["id"]

    first = _acknowledge(service, newest)
    again = _acknowledge(service, newest)
    service.wait(days=2)

    assert first == again
    assert _open(service) == []
    assert len(service.get("/api/v1/alerts?state=acknowledged", "desk")) == 3
    ticket = service.get(f"/api/v1/tickets/{danger['ticket']}", "desk")
    assert [e["what"] for e in ticket["history"]].count("acknowledged") == 1
    assert ticket["danger"]


def test_raising_again_slows_down(service: Running) -> None:
    """Every ten minutes for two hours, hourly for a day, then daily: never lost, never a flood."""
    service.text(mobile("1A"), "I smell gas")

    service.wait(days=4)

    with service.services.db.reading() as session:
        at = list(session.scalars(select(Alert.at).order_by(Alert.id)))
    pauses = [later - earlier for earlier, later in pairwise(at)]
    assert pauses[:12] == [timedelta(minutes=10)] * 12
    assert set(pauses[12:34]) == {timedelta(hours=1)}
    assert pauses[-2:] == [timedelta(days=1)] * 2


def test_dangers_come_first_and_other_alerts_are_not_raised_again(service: Running) -> None:
    """Somebody who wants a person is listed after a danger, once."""
    service.text(mobile("1A"), "I smell gas")
    service.text(mobile("3A"), "please let me talk to a person")

    assert [a["danger"] for a in _open(service)] == [True, False]
    service.wait(minutes=10)
    assert [a["danger"] for a in _open(service)] == [True, True, False]


@pytest.mark.parametrize("role", ["truck", "owner", "gateway"])
def test_only_the_desk_handles_alerts(service: Running, role: str) -> None:
    """Nobody else sees or acknowledges them."""
    assert service.call("GET", "/api/v1/alerts", role).status_code == 403
    assert service.call("POST", "/api/v1/alerts/1/acknowledge", role).status_code == 403


def test_what_is_not_there_or_not_meant_is_refused(service: Running) -> None:
    """An unknown alert is 404, an unknown state or an odd number 422."""
    assert service.call("POST", "/api/v1/alerts/7/acknowledge", "desk").status_code == 404
    assert service.call("POST", "/api/v1/alerts/-7/acknowledge", "desk").status_code == 422
    assert service.call("GET", "/api/v1/alerts?state=old", "desk").status_code == 422


def test_the_queue_page_shows_and_takes_the_acknowledgement(service: Running) -> None:
    """On the desk's page the alert stands above the queue, with a button that posts."""
    service.text(mobile("1A"), "I smell gas")
    service.sign_in(Role.DESK)
    page = service.page("/desk")
    alert = _open(service)[0]["id"]
    assert page.index("1 not acknowledged") < page.index("<table")
    assert "Smell of gas" in page

    answer = service.call("POST", f"/desk/alerts/{alert}/acknowledge")

    assert answer.status_code == 303
    assert "not acknowledged" not in service.page("/desk")
    assert _open(service) == []
