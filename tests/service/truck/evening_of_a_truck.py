"""A service with two tickets, and the technician who is to work on them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from browsing import app_of, on_a_port
from whole_service import KeepingGateway, Running, cold_evening, mobile

from service.auth.roles import Role
from service.auth.sessions import open_session

__all__ = ["COLD", "HOT_WORDS", "Truck", "truck_service"]

COLD = ("1A", "1B", "2A")
HOT_WORDS = "Its 84 in here and I have the thermostat on 68!! call Rosa at 212 555 0142"


class Truck:
    """What a test needs to know: the service, where it is, its tickets."""

    def __init__(self, service: Running, address: str) -> None:
        """The evening as it begins."""
        self.service, self.address = service, address

    def secret(self) -> str:
        """The cookie of a technician who has signed in."""
        with self.service.services.db.transaction() as session:
            return open_session(session, Role.TRUCK, self.service.services.now())

    def ticket(self, apartment: str) -> dict[str, Any]:
        """The open ticket of a home."""
        rows: list[dict[str, Any]] = self.service.get("/api/v1/tickets?state=open", "desk")
        return next(row for row in rows if apartment in row["apartments"])

    def findings(self, ticket: str) -> list[dict[str, Any]]:
        """The readings in a ticket's history, in order."""
        history = self.service.get(f"/api/v1/tickets/{ticket}", "desk")["history"]
        return [event["body"] for event in history if event["what"] == "finding"]


@contextmanager
def truck_service(state: Path) -> Iterator[Truck]:
    """Three cold homes of one loop and a hot one, and a port to look at them."""
    with cold_evening(state, KeepingGateway()) as service:
        for home in COLD:
            service.text(mobile(home), "no heat since this morning, it is 58 in here")
        service.text(mobile("4B"), HOT_WORDS)
        with on_a_port(app_of(service)) as address:
            yield Truck(service, address)
