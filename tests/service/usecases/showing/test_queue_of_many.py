"""The queue with many tickets: the same few queries, the right order; on each database."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from sqlalchemy import event
from sqlalchemy.orm import Session
from whole_service import BUILDING, EVENING, building_document

from service.store.database import Database
from service.store.tables import Alert, Building, Complaint, Ticket
from service.usecases.rows.picture import EMPTY_PICTURE
from service.usecases.rows.views import QueueView
from service.usecases.showing.show_queue import queue_row, show_queue

SUSPECTED = {
    "suspects": [
        {
            "fault": "pump_seized",
            "says": "Pump is stuck",
            "component": "pump-2",
            "probability": 0.3,
        },
        {
            "fault": "pump_winding_open",
            "says": "Winding is open",
            "component": "pump-2",
            "probability": 0.2,
        },
    ],
    "by_component": [{"component": "pump-2", "probability": 0.5}],
    "unknown": 0.5,
}


def a_ticket(number: int, **more: Any) -> Ticket:
    """An open ticket with a suspect, due after ``number`` minutes."""
    values: dict[str, Any] = {
        "id": f"t_{number:012d}",
        "building_id": BUILDING,
        "scope": "loop",
        "component": "loop-1",
        "state": "open",
        "danger": False,
        "opened_at": EVENING,
        "respond_by": EVENING + timedelta(minutes=number),
        "because": [{"rule": f"rule {number}", "source": "", "at": EVENING.isoformat()}],
        "picture": {**EMPTY_PICTURE, **SUSPECTED},
    }
    return Ticket(**{**values, **more})


def a_complaint(number: int, ticket: Ticket, **more: Any) -> Complaint:
    """An open complaint on a ticket."""
    values: dict[str, Any] = {
        "id": f"c_{number:012d}",
        "building_id": ticket.building_id,
        "apartment": f"{number % 4 + 1}A",
        "number": f"+1212555{number:04d}",
        "opened_at": EVENING,
        "kinds": ["too_cold"],
        "ticket_id": ticket.id,
        "care": [],
        "danger": [],
    }
    return Complaint(**{**values, **more})


def add(session: Session, first: int, count: int) -> None:
    """So many tickets with a complaint each, and an alert about it."""
    for number in range(first, first + count):
        ticket = a_ticket(number)
        session.add(ticket)
        session.flush()
        complaint = a_complaint(number, ticket)
        session.add(complaint)
        session.add(Alert(at=EVENING, what="does not answer", complaint_id=complaint.id))
    session.flush()


def counted(database: Database) -> tuple[QueueView, int]:
    """The queue, and how many statements it took."""
    statements: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        statements.append(statement)

    event.listen(database.engine, "before_cursor_execute", note)
    try:
        with database.reading() as session:
            return show_queue(session, EVENING), len(statements)
    finally:
        event.remove(database.engine, "before_cursor_execute", note)


def test_many_tickets_take_no_more_queries_than_two(database: Database) -> None:
    """Two tickets and a hundred are shown with the same dozen statements or fewer."""
    with database.transaction() as session:
        session.add(Building(id=BUILDING, document=building_document(), updated_at=EVENING))
        add(session, 0, 2)
    few, few_statements = counted(database)
    with database.transaction() as session:
        add(session, 2, 98)

    many, many_statements = counted(database)

    assert [len(few.rows), len(many.rows)] == [2, 100]
    assert few_statements == many_statements <= 12
    assert [r.reason for r in many.rows] == [f"rule {n}" for n in range(100)]
    assert {(r.first_component, r.probability) for r in many.rows} == {("pump-2", 0.5)}
    assert {(r.first_suspect, r.of_fault, r.unknown) for r in many.rows} == {
        ("Pump is stuck", 0.3, 0.5)
    }
    assert many.rows[5].homes == ("2A",)
    assert {a.place for a in many.alerts} == {f"{n}A, 9 Quarry Street" for n in (1, 2, 3, 4)}
    with database.reading() as session:
        ticket = session.get_one(Ticket, many.rows[7].ticket)
        assert queue_row(session, ticket) == many.rows[7]


def test_danger_first_and_what_is_on_hold_last(database: Database) -> None:
    """The order in which to act; a home nobody knows yet and an empty picture have their row too."""
    with database.transaction() as session:
        session.add(Building(id=BUILDING, document=building_document(), updated_at=EVENING))
        until = EVENING + timedelta(days=2)
        rows = [
            a_ticket(1, held_until=until, hold_reason="part comes", assigned_to="R. Moreno"),
            a_ticket(2),
            a_ticket(3, building_id=None, because=[], picture=EMPTY_PICTURE),
            a_ticket(4, danger=True),
            a_ticket(5, state="closed"),
        ]
        session.add_all(rows)
        session.flush()
        session.add_all(
            [
                a_complaint(1, rows[0], pinned=True),
                a_complaint(2, rows[1], apartment="4B", confirmed=False),
                a_complaint(3, rows[1], apartment="4A", closed_at=EVENING),
                a_complaint(5, rows[4], closed_at=EVENING),
            ]
        )
    with database.reading() as session:
        queue = show_queue(session, EVENING)
        closed = show_queue(session, EVENING, state="closed").rows
        other = show_queue(session, EVENING, building="elsewhere").rows

    assert [int(r.ticket[2:]) for r in queue.rows] == [4, 2, 3, 1]
    held = queue.rows[3]
    assert [held.held_until, held.hold_reason, held.assigned_to, held.pinned] == [
        until,
        "part comes",
        "R. Moreno",
        ("2A",),
    ]
    assert [queue.rows[1].homes, queue.rows[1].unconfirmed] == [("4B",), ("4B",)]
    nowhere = queue.rows[2]
    assert [nowhere.building_name, nowhere.reason, nowhere.first_suspect, nowhere.unknown] == [
        "Home not known yet",
        "",
        None,
        1.0,
    ]
    assert nowhere.timezone == "America/New_York"
    assert [len(closed), closed[0].homes, other] == [1, ("2A",), ()]
