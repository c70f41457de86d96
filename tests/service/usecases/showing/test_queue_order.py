"""The way through the queue: every ticket once, and after an act the next that nobody has."""

from __future__ import annotations

from datetime import timedelta

from at_the_desk import act
from whole_service import BUILDING, Running, fill, household_rows, mobile

from service.usecases.showing.open_desk import open_desk
from service.usecases.showing.queue_order import neighbours, next_to_take

TEXTS = {
    "1A": "no heat, 58 degrees, radiator is cold",
    "4B": "loud banging in the pipes",
    "3A": "water is leaking under the radiator",
    "2B": "I have no hot water",
}


def tickets(service: Running) -> list[str]:
    """Four troubles of one house, in the order of the queue."""
    for home, words in TEXTS.items():
        service.text(mobile(home), words)
    return [t["id"] for t in service.open_tickets()]


def walk(service: Running, start: str) -> list[str]:
    """From ticket to ticket until there is none after it; a circle would never end."""
    seen, here = [start], start
    while len(seen) < 20:
        with service.services.db.reading() as session:
            _, after = neighbours(session, here)
        if after is None:
            return seen
        seen.append(after)
        here = after
    return seen


def hold(service: Running, ticket: str) -> None:
    """Until tomorrow."""
    until = (service.services.now() + timedelta(hours=13)).isoformat()
    act(service, ticket, "hold", until=until, reason="Waits for a part")


def test_a_walk_meets_each_ticket_once_whatever_is_held(service: Running) -> None:
    """Held ones are passed over: they would stand last, from where there was a way back."""
    order = tickets(service)
    assert walk(service, order[0]) == order
    hold(service, order[1])
    assert walk(service, order[1]) == order[1:]  # who has just held it goes on from where it stood
    assert walk(service, order[0]) == [order[0], order[2], order[3]]
    hold(service, order[2])
    assert walk(service, order[0]) == [order[0], order[3]]


def test_after_an_act_comes_the_next_that_nobody_has(service: Running) -> None:
    """Down the queue, then from its top; none when all are taken or held."""
    order = tickets(service)
    act(service, order[2], "assign", to="R. Moreno")

    def after(ticket: str) -> str | None:
        with service.services.db.reading() as session:
            return next_to_take(session, ticket)

    assert after(order[1]) == order[3]
    assert after(order[3]) == order[0]
    hold(service, order[3])
    act(service, order[0], "assign", to="R. Moreno")
    assert after(order[0]) == order[1]
    act(service, order[1], "assign", to="K. Tran")
    assert after(order[1]) is None


def test_the_desk_sees_who_is_at_risk_by_text_and_by_file(empty: Running) -> None:
    """What a text says and what the household's row says, both, for that home alone."""
    fill(empty)
    base = f"/api/v1/buildings/{BUILDING}/households"
    rows = [
        {**row, "care": ["over65"]} if row["apartment"] == "1A" else row for row in household_rows()
    ]
    assert empty.call("PUT", base, "owner", json=rows).is_success
    told = empty.text(mobile("1A"), "no heat, 58 degrees, I have a 3 month old baby")
    empty.text(mobile("1B"), "no heat here either, 58 degrees")
    with empty.services.db.reading() as session:
        page = open_desk(session, empty.services.now(), told["ticket"])
    assert page.care == {told["complaint"]: ("infant", "over65")}
