"""Two people act on one ticket at the same moment: one wins, the other is told; on each database."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from at_the_desk import acts_of, homes_by_ticket, ticket_of
from sqlalchemy.orm import Session
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.auth.roles import Role
from service.auth.who import Who
from service.clock import ManualClock
from service.errors import ConflictError
from service.usecases.desk.assign_ticket import assign_ticket
from service.usecases.desk.merge_tickets import merge_tickets
from service.usecases.desk.split_ticket import split_ticket
from service.usecases.desk.undo_act import undo_act

PEOPLE = [Who(f"person-{n}", Role.DESK, f"Person {n}") for n in range(4)]


@pytest.fixture
def anywhere(migrated_url: str, tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A filled service on either database."""
    with running(settings_for(tmp_path, migrated_url), ManualClock(EVENING), gateway) as service:
        fill(service)
        yield service


def at_once(service: Running, *acts: Callable[[Session], object]) -> list[str]:
    """Do acts at the same moment, each in a transaction of its own; "done" or why not."""
    start = threading.Barrier(len(acts))
    found = [""] * len(acts)

    def do(number: int, act: Callable[[Session], object]) -> None:
        start.wait()
        try:
            with service.services.db.transaction() as session:
                act(session)
            found[number] = "done"
        except ConflictError as error:
            found[number] = error.message

    threads = [threading.Thread(target=do, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_of_four_people_with_the_same_version_one_wins(anywhere: Running) -> None:
    """Four assign the ticket as all of them saw it: one does, three are told by whom and what."""
    ticket = anywhere.text(mobile("1A"), "no heat")["ticket"]
    seen = ticket_of(anywhere, ticket)["version"]

    def assigning(who: Who) -> Callable[[Session], object]:
        return lambda session: assign_ticket(session, EVENING, who, ticket, seen, who.name)

    found = at_once(anywhere, *(assigning(who) for who in PEOPLE))

    assert found.count("done") == 1
    winner = PEOPLE[found.index("done")].name
    assert ticket_of(anywhere, ticket)["assigned_to"] == winner
    told = [f for f in found if f != "done"]
    assert all(f"Assigned to {winner} ({winner}, " in why for why in told)
    assert ticket_of(anywhere, ticket)["version"] == seen + 1

    number = acts_of(anywhere, ticket)[0]["id"]
    sms = anywhere.services.sms
    undone = at_once(
        anywhere, *(lambda s, w=w: undo_act(s, EVENING, w, number, sms=sms) for w in PEOPLE[:2])
    )
    assert undone.count("done") == 1
    assert ticket_of(anywhere, ticket)["assigned_to"] is None


def test_merging_and_splitting_at_once_loses_no_home(anywhere: Running) -> None:
    """One merges a ticket away while another splits it: one act is made, every home has a ticket."""
    cold = anywhere.text(mobile("1A"), "no heat")["ticket"]
    anywhere.text(mobile("1B"), "no heat")
    hot = anywhere.text(mobile("4A"), "too hot")["ticket"]
    seen = ticket_of(anywhere, cold)
    one = seen["complaints"][:1]

    found = at_once(
        anywhere,
        lambda s: merge_tickets(s, EVENING, PEOPLE[0], cold, seen["version"], hot),
        lambda s: split_ticket(s, EVENING, PEOPLE[1], cold, seen["version"], one),
    )

    assert found.count("done") == 1
    assert sorted(h for homes in homes_by_ticket(anywhere).values() for h in homes) == [
        "1A",
        "1B",
        "4A",
    ]
