"""What a ticket suspects is behind the complaints that are on it, whatever else the building has."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import Running, fill, mobile

from service.usecases.showing.show_ticket import show_ticket
from tests.houses import a_boiler, a_home, a_house, places


def test_a_ticket_suspects_nothing_for_homes_that_are_not_on_it(service: Running) -> None:
    """Four homes are cold, two of them smell gas: a danger has a ticket of its own.

    Each suspect explains one of its ticket's homes or more, and none of another ticket's, though the
    complaints may share a cause.
    """
    for home in ("1A", "1B", "2A", "2B"):
        service.text(mobile(home), "no heat, it is freezing")
    for home in ("1A", "2B"):
        service.text(mobile(home), "I smell gas")

    tickets = service.open_tickets()

    assert sorted(a for t in tickets for a in t["apartments"]) == ["1A", "1B", "2A", "2B"]
    assert len(tickets) > 1
    for ticket in tickets:
        assert ticket["suspects"]
        for suspect in ticket["suspects"]:
            explains = set(suspect["explains"])
            assert explains
            assert explains <= set(ticket["apartments"]), (ticket["apartments"], suspect)


def loop_by_floor() -> dict[str, Any]:
    """Three floors of four homes, one loop a floor, one boiler, one transformer."""
    return a_house(
        [a_home(floor, line, on=floor) for floor, line in places(3, "ABCD")],
        [
            {"id": f"loop-{n}", "source": "boiler-1", "relay": {"transformer": "xf-1"}}
            for n in (1, 2, 3)
        ],
        sources=[a_boiler(hot_water="indirect_priority")],
        va=200,
        building="mill-3",
        name="3 Mill Street",
        weather_station="kqry",
    )


@pytest.mark.parametrize("homes", [("1B",), ("1B", "1C"), ("1A", "2B", "3C")])
def test_suspects_and_components_of_a_ticket_are_in_one_order(
    empty: Running, homes: tuple[str, ...]
) -> None:
    """Where to look first is said once, on ticket, page and queue.

    A component has at least what its listed faults have together: more small ones than the list holds
    make it no less likely.
    """
    fill(empty, loop_by_floor())
    for home in homes:
        empty.text(mobile(home), "No heat since this morning, its 58 in here")

    for ticket in empty.open_tickets():
        named = list(dict.fromkeys(s["component"] for s in ticket["suspects"]))
        chances = {p["component"]: p["probability"] for p in ticket["by_component"]}
        assert named[:3] == list(chances)[:3]
        assert sum(chances.values()) <= 1
        rest = list(chances.values())[3:]
        assert rest == sorted(rest, reverse=True)
        for component in named:
            own = [s["probability"] for s in ticket["suspects"] if s["component"] == component]
            assert chances[component] >= sum(own) - 1e-9
        with empty.services.db.reading() as session:
            view = show_ticket(session, empty.services.now(), ticket["id"])
        assert view.row.probability == ticket["by_component"][0]["probability"]
        assert {s.component: s.of_part for s in view.suspects} == {c: chances[c] for c in named}
