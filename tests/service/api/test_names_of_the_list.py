"""What programs outside read and write bears the names of the trade's list, whatever row it is."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command
from sqlalchemy import select
from whole_service import Running, mobile

from rules.faults.catalogue import faults
from rules.faults.telling import told_name
from service.store.database import Database
from service.store.migrations import alembic_config
from service.store.tables import AuditRow, Closure, ClosureDetail, Forecast, Ticket
from service.usecases.rows.told_names import told_suspects, told_why
from service.usecases.showing.show_record import show_record


def suspect(fault: str, component: str, probability: float) -> dict[str, Any]:
    """A suspect as a picture holds it."""
    return {
        "fault": fault,
        "says": f"{fault} it is",
        "component": component,
        "probability": probability,
        "explains": ["1A"] if fault.startswith("strainer") else ["1B"],
    }


STRAINERS = [
    suspect("air_bound_loop", "loop-1", 0.3),
    suspect("pump_seized", "pump-1", 0.1),
    suspect("strainer_blocked", "loop-1", 0.25),
    suspect("strainer_clogged", "loop-1", 0.2),
]


def test_two_rows_of_one_name_at_one_component_are_one_suspect() -> None:
    """Their chances add up, and together they may lead their component."""
    told = told_suspects(STRAINERS)

    assert [(s["fault"], s["component"], s["probability"]) for s in told] == [
        ("strainer_clogged", "loop-1", 0.45),
        ("pump_seized", "pump-1", 0.1),
        ("air_bound_loop", "loop-1", 0.3),
    ]
    assert told[0]["says"] == "strainer_blocked it is"  # the likelier of the two
    assert told_suspects(told) == told


def test_rows_of_one_name_at_two_components_stay_two() -> None:
    """A home's own tap and the building's pipes are looked at in different places."""
    told = told_suspects(
        [suspect("tap_keeps_hot_back", "1A", 0.4), suspect("dhw_crossover", "house", 0.1)]
    )

    assert [(s["fault"], s["component"]) for s in told] == [
        ("dhw_crossover", "1A"),
        ("dhw_crossover", "house"),
    ]


def test_a_reason_is_told_once_for_each_name() -> None:
    """The same words of one text for both rows of a name are said once, the stronger first."""
    line = {"says": "1A is cold", "message": "m_1"}
    why = [
        {**line, "for": "strainer_blocked", "weight": 1.2},
        {**line, "for": "strainer_clogged", "weight": 0.7},
        {**line, "for": "pump_seized", "weight": 0.5},
    ]

    assert told_why(why) == [
        {**line, "for": "strainer_clogged", "weight": 1.2},
        {**line, "for": "pump_seized", "weight": 0.5},
    ]


def blocked(service: Running) -> dict[str, Any]:
    """A ticket of a cold loop whose strainer is measured to be blocked."""
    for home in ("1A", "1B", "2A"):
        service.text(mobile(home), "no heat at all since this morning, radiators stone cold")
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")
    for body in (
        {"test": "strainer_dp", "component": "loop-1", "value": 14, "unit": "psi"},
        {"test": "pump_amps", "component": "pump-1", "value": 0.5, "unit": "A", "calling": True},
        {"test": "display_codes", "component": "boiler-1", "outcome": "no_lockout"},
        {"test": "pump_dp", "component": "pump-1", "outcome": "shut_off_head"},
        {"test": "valve_handles", "component": "loop-1", "outcome": "as_tagged"},
        {"test": "purge_flow", "component": "loop-1", "outcome": "no_flow"},
    ):
        answer = service.measure(ticket["id"], **body)
        assert answer.status_code == 200, answer.text
    return dict(service.get(f"/api/v1/tickets/{ticket['id']}", "desk"))


def close(service: Running, ticket: str, fault: str, component: str) -> Any:
    """A closing by API."""
    body = {"fault": fault, "component": component, "parts": [], "installed": None, "note": "done"}
    return service.call("POST", f"/api/v1/tickets/{ticket}/close", "truck", json=body)


def test_a_ticket_speaks_in_listed_names_and_its_picture_in_rows(service: Running) -> None:
    """A blocked strainer is suspected as a clogged one, with all the chance of both."""
    ticket = blocked(service)

    with service.services.db.reading() as session:
        inside = session.get_one(Ticket, ticket["id"]).picture["suspects"]
    rows = {s["fault"]: s["probability"] for s in inside if s["component"] == "loop-1"}
    assert rows["strainer_blocked"] > 0.5
    told = {s["fault"]: s["probability"] for s in ticket["suspects"] if s["component"] == "loop-1"}
    both = rows["strainer_blocked"] + rows.get("strainer_clogged", 0.0)
    assert told["strainer_clogged"] == pytest.approx(both)
    named = {s["fault"] for s in ticket["suspects"]} | {w["for"] for w in ticket["why"]}
    assert named == {told_name(name) for name in named}


def test_a_check_of_our_own_is_for_people_alone(service: Running) -> None:
    """A leak's ticket begins with a look where it is wet; a program is told of the listed tests."""
    service.text(mobile("1A"), "water is dripping from the radiator valve onto the floor")
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")

    with service.services.db.reading() as session:
        inside = [c["test"] for c in session.get_one(Ticket, ticket["id"]).picture["checks"]]

    assert inside[0] == "wet_look"
    told = [check["test"] for check in ticket["checks"]]
    assert "wet_look" not in told
    # Without the look there is more to be measured: what it would have told is still open.
    assert {"emitter_look", "leak_watch"} & set(told)


@pytest.mark.parametrize("named", ["strainer_clogged", "strainer_blocked"])
def test_a_closing_by_either_name_is_the_same_closing(service: Running, named: str) -> None:
    """From a program with the listed name or from a page with the row's: judged, told, noted alike."""
    for home in ("1A", "1B", "2A"):
        service.text(mobile(home), "no heat at all since this morning, radiators stone cold")
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")

    answer = close(service, ticket["id"], named, "loop-1")

    assert answer.status_code == 200, answer.text
    closed = answer.json()
    assert closed["closure"]["fault"] == "strainer_clogged"
    assert [h["body"]["fault"] for h in closed["history"] if h["what"] == "closed"] == [
        "strainer_clogged"
    ]
    with service.services.db.reading() as session:
        act = session.scalars(select(AuditRow).where(AuditRow.act == "ticket closed")).one()
        assert json.loads(act.details)["fault"] == "strainer_clogged"


def test_the_first_suspect_was_right_whichever_row_it_was(service: Running) -> None:
    """Stated of a blocked strainer inside, found and named as the list has it."""
    ticket = blocked(service)
    with service.services.db.transaction() as session:
        # Stated after the readings, as if they had been the tenants' words.
        session.execute(sa.text("DELETE FROM forecasts"))

    assert close(service, ticket["id"], "strainer_clogged", "loop-1").status_code == 200

    with service.services.db.reading() as session:
        assert session.scalars(select(ClosureDetail.verdict)).one() == "right"
        record = show_record(session)
        assert (record.right, record.named) == (1, 1)


def test_a_name_may_be_given_where_any_of_its_rows_can_stand(service: Running) -> None:
    """Hot water that a home's own tap keeps back is a crossover at that home, and no transformer."""
    service.text(mobile("1A"), "no hot water from the shower")
    (ticket,) = service.get("/api/v1/tickets?state=open", "desk")

    refused = close(service, ticket["id"], "dhw_crossover", "xf-1")
    taken = close(service, ticket["id"], "dhw_crossover", "1A")

    assert refused.status_code == 422
    assert [e["pointer"] for e in refused.json()["errors"]] == ["/component"]
    assert taken.status_code == 200, taken.text
    assert taken.json()["closure"]["component"] == "1A"


def test_old_statements_are_renamed_with_the_database(database: Database) -> None:
    """What was stated and judged before bears the listed names, and is judged by them."""
    config = alembic_config()
    with database.engine.begin() as connection:
        config.attributes["connection"] = connection
        command.stamp(config, "20261130_0810")
        connection.execute(sa.text("ALTER TABLE complaints DROP COLUMN reopened_at"))  # came later
        _old_rows(connection)
        command.upgrade(config, "head")

        first = connection.execute(sa.text("SELECT verdict FROM closure_details")).scalars().all()
        details = connection.execute(select(ClosureDetail.__table__)).one()
        stated = connection.execute(sa.text("SELECT suspects FROM forecasts")).scalar_one()
        fault = connection.execute(select(Closure.fault)).scalar_one()

    assert first == ["right"]
    assert [(s["fault"], s["probability"]) for s in details.first] == [
        ("strainer_clogged", 0.45),
        ("pump_seized", 0.1),
        ("air_bound_loop", 0.3),
    ]
    assert "strainer_blocked" not in str(stated)
    assert fault == "strainer_blocked"  # as it was named; told by its listed name
    assert set(faults()) >= {s["fault"] for s in details.last}


def _old_rows(connection: sa.Connection) -> None:
    keys = ("fault", "component", "probability")
    first = [{key: row[key] for key in keys} for row in STRAINERS]
    for table, row in _rows(first):
        connection.execute(sa.insert(table).values(row))


def _rows(first: list[dict[str, Any]]) -> list[tuple[Any, dict[str, Any]]]:
    now = datetime(2026, 1, 10, tzinfo=UTC)
    ticket = {
        "id": "t_1",
        "building_id": None,
        "state": "closed",
        "opened_at": now,
        "danger": False,
        "respond_by": now,
        "because": [],
        "scope": "loop",
        "component": "loop-1",
        "picture": {"suspects": [], "by_component": [], "load": []},
        "version": 1,
    }
    closure = {
        "id": 1,
        "ticket_id": "t_1",
        "fault": "strainer_blocked",
        "component": "loop-1",
        "parts": [],
        "note": "",
        "closed_at": now,
    }
    detail = {
        "closure_id": 1,
        "verdict": "same_part",
        "readings": 0,
        "first": first,
        "unknown_first": 0.15,
        "last": first,
        "unknown_last": 0.15,
    }
    forecast = {"ticket_id": "t_1", "at": now, "suspects": first, "unknown": 0.15}
    return [
        (Ticket.__table__, ticket),
        (Closure.__table__, closure),
        (ClosureDetail.__table__, detail),
        (Forecast.__table__, forecast),
    ]
