"""People at work on the test building: signed in, with complaints to look at."""

from __future__ import annotations

import re
from typing import Any

from httpx import Response
from whole_service import Running, mobile

from service.auth.roles import Role

COLD = "no heat at all, it is freezing in here"


def sign_in(service: Running, role: Role) -> None:
    """Through the door; the cookie is kept for the calls that follow."""
    service.sign_in(role)


def cold_ticket(service: Running, *apartments: str) -> dict[str, Any]:
    """Cold homes on one loop; their ticket."""
    for apartment in apartments:
        service.text(mobile(apartment), COLD)
    return service.only_ticket()


def page(service: Running, address: str) -> str:
    """A page that is there."""
    return service.page(address)


def words(html: str) -> str:
    """What is read on a page."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def ask_turn(service: Running, complaint: str, turn: str = "down") -> Response:
    """Press the button."""
    return service.call("POST", f"/turns/ask/{complaint}", data={"turn": turn})


def home_now(service: Running, ticket: str) -> dict[str, Any]:
    """Where the turn of the ticket's only home stands."""
    answer = service.call("GET", f"/turns/of/{ticket}")
    assert answer.status_code == 200, answer.text
    (home,) = answer.json()["homes"]
    return dict(home)


def last_text(service: Running, apartment: str) -> str:
    """The last text that a household got."""
    return [t.text for t in service.gateway.sent if t.to == mobile(apartment)][-1]
