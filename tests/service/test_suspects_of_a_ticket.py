"""What a ticket suspects is behind the complaints that are on it, whatever else the building has."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import EVENING, Running, cold_weather, mobile

from service.usecases.show_ticket import show_ticket


def test_a_ticket_suspects_nothing_for_homes_that_are_not_on_it(service: Running) -> None:
    """Four homes are cold, two of them smell gas: a danger has a ticket of its own.

    Each suspect explains one of its ticket's homes or more, and none of another ticket's, though the
    complaints may share a cause.
    """
    for home in ("1A", "1B", "2A", "2B"):
        service.text(mobile(home), "no heat, it is freezing")
    for home in ("1A", "2B"):
        service.text(mobile(home), "I smell gas")

    tickets = service.get("/api/v1/tickets?state=open", "desk")

    assert sorted(a for t in tickets for a in t["apartments"]) == ["1A", "1B", "2A", "2B"]
    assert len(tickets) > 1
    for ticket in tickets:
        assert ticket["suspects"]
        for suspect in ticket["suspects"]:
            explains = set(suspect["explains"])
            assert explains
            assert explains <= set(ticket["apartments"]), (ticket["apartments"], suspect)


def one_loop() -> dict[str, Any]:
    """Three floors of four homes, one loop a floor, one boiler, one transformer."""
    return {
        "schema": 1,
        "building": "mill-3",
        "name": "3 Mill Street",
        "timezone": "America/New_York",
        "weather_station": "kqry",
        "construction": "masonry",
        "heat_sources": [
            {
                "id": "boiler-1",
                "kind": "hot_water_boiler",
                "control": "fixed",
                "hot_water": "indirect_priority",
            }
        ],
        "transformers": [{"id": "xf-1", "va": 200}],
        "loops": [
            {"id": f"loop-{n}", "source": "boiler-1", "relay": {"transformer": "xf-1"}}
            for n in (1, 2, 3)
        ],
        "apartments": [
            {
                "id": f"{floor}{line}",
                "floor": floor,
                "line": line,
                "emitter": "fin_tube",
                "loop": f"loop-{floor}",
                "zoning": "zone_valve",
                "valve": {"kind": "motor_4wire", "transformer": "xf-1"},
                "thermostat": {"kind": "battery"},
            }
            for floor in (1, 2, 3)
            for line in "ABCD"
        ],
    }


@pytest.mark.parametrize("homes", [("1B",), ("1B", "1C"), ("1A", "2B", "3C")])
def test_suspects_and_components_of_a_ticket_are_in_one_order(
    empty: Running, homes: tuple[str, ...]
) -> None:
    """Where to look first is said once, on ticket, page and queue.

    A component has at least what its listed faults have together: more small ones than the list holds
    make it no less likely.
    """
    document = one_loop()
    rows = [
        {
            "building": "mill-3",
            "apartment": home["id"],
            "name": "Household",
            "mobile": f"+121255501{n:02d}",
            "email": "",
            "language": "en",
            "care": [],
        }
        for n, home in enumerate(document["apartments"])
    ]
    base = "/api/v1/buildings/mill-3"
    for path, body in ((base, document), (f"{base}/households", rows)):
        assert empty.call("PUT", path, "owner", json=body).status_code == 200
    weather = cold_weather(EVENING)
    assert empty.call("PUT", "/api/v1/weather/kqry", "owner", json=weather).status_code == 200
    for row in rows:
        if row["apartment"] in homes:
            empty.text(str(row["mobile"]), "No heat since this morning, its 58 in here")

    for ticket in empty.get("/api/v1/tickets?state=open", "desk"):
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
