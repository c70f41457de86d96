"""The day and the ticket say what comes before going in, and what is looked at first there."""

from __future__ import annotations

import re

import pytest
from whole_service import Running, mobile

from service.auth.links import issue_link
from service.auth.roles import Role
from service.store.tables import Ticket


def on_the_truck(service: Running, path: str) -> str:
    """A page as a technician reads it."""
    with service.services.db.transaction() as session:
        link = issue_link(session, Role.TRUCK, service.services.now())
    assert service.call("POST", f"/enter/{link}").status_code == 303
    page = service.call("GET", path)
    assert page.status_code == 200
    return re.sub(r"\s+", " ", page.text)


@pytest.mark.parametrize(
    ("text", "before", "first"),
    [
        # Common practice, no source: what stands in the entry table by kind of danger.
        (
            "sparks from the thermostat and it smells burnt",
            "Breaker off and proven dead",
            "scorch_look",
        ),
        (
            "it smells of gas in the whole apartment",
            "Nobody goes in before the utility",
            "ambient_co",
        ),
    ],
)
def test_a_danger_says_what_comes_first(
    service: Running, text: str, before: str, first: str
) -> None:
    """On the day's page beside the stop, and on the ticket; a meter is no answer to sparks."""
    service.text(mobile("1A"), text)
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")
    with service.services.db.reading() as session:
        checks = [c["test"] for c in session.get_one(Ticket, ticket["id"]).picture["checks"]]

    day = on_the_truck(service, "/truck")
    page = on_the_truck(service, f"/truck/tickets/{ticket['id']}")

    assert checks[0] == first
    assert f"People first. {before}" in day
    assert before in page
    assert f'name="test" value="{first}"' in page
