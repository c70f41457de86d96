"""Acts of the desk through the API, for the tests beside it."""

from __future__ import annotations

from typing import Any

from whole_service import Running


def ticket_of(service: Running, ticket: str) -> dict[str, Any]:
    """A ticket as the API shows it."""
    found: dict[str, Any] = service.get(f"/api/v1/tickets/{ticket}", "desk")
    return found


def act(service: Running, ticket: str, verb: str, **body: Any) -> dict[str, Any]:
    """Act on a ticket as it is now; the ticket to look at next."""
    version = body.pop("version", None) or ticket_of(service, ticket)["version"]
    return done(service, f"tickets/{ticket}/{verb}", version=version, **body)


def act_on(service: Running, complaint: str, verb: str, **body: Any) -> dict[str, Any]:
    """Act on a complaint whose ticket is as it is now."""
    ticket = service.get(f"/api/v1/complaints/{complaint}", "desk")["ticket"]
    version = ticket_of(service, ticket)["version"]
    return done(service, f"complaints/{complaint}/{verb}", version=version, **body)


def done(service: Running, path: str, **body: Any) -> dict[str, Any]:
    """A call of the desk that succeeds."""
    answer = service.call("POST", f"/api/v1/{path}", "desk", json=body)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def refused(service: Running, path: str, **body: Any) -> str:
    """A call of the desk that does not fit the present state; why."""
    answer = service.call("POST", f"/api/v1/{path}", "desk", json=body)
    assert answer.status_code == 409, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    found: str = answer.json()["detail"]
    return found


def acts_of(service: Running, ticket: str) -> list[dict[str, Any]]:
    """What was done to a ticket, newest first."""
    found: list[dict[str, Any]] = service.get(f"/api/v1/tickets/{ticket}/acts", "desk")
    return found


def undo_last(service: Running, ticket: str) -> dict[str, Any]:
    """Undo the newest act of a person on a ticket that is not undone."""
    last = next(a for a in acts_of(service, ticket) if not a["automatic"] and not a["undone_at"])
    return done(service, f"acts/{last['id']}/undo")


def homes_by_ticket(service: Running) -> dict[str, list[str]]:
    """Which homes are on which open ticket."""
    return {t["id"]: t["apartments"] for t in service.open_tickets()}


def says(service: Running, ticket: str) -> list[str]:
    """The history of a ticket in words."""
    return [line["says"] for line in ticket_of(service, ticket)["history"]]
