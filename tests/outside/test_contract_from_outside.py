"""A stranger provokes the service on purpose; what comes back is sensible, said plainly, never a 500."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from .door import Door
from .report import run, table

START = datetime(2025, 11, 2, 16, tzinfo=UTC)
FINDING = {
    "test": "motor_volts",
    "component": "1A.valve",
    "value": 25,
    "unit": "V",
    "calling": True,
}
AREAS = iter((*range(205, 211), *range(212, 220), *range(301, 311)))


class House:
    """Six apartments on two loops, nothing dated, with the texts of its people."""

    def __init__(self, door: Door, name: str, zoning: str = "zone_valve") -> None:
        """Put it up and give each home a number."""
        self.door, self.name, self.now = door, name, START
        self.sent = 0
        door.call("PUT", f"/buildings/{name}", "owner", building(name, zoning))
        area = next(AREAS)
        homes = [f"{floor}{line}" for floor in (1, 2, 3) for line in "AB"]
        self.mobile = {home: f"+1{area}555010{n}" for n, home in enumerate(homes)}
        rows = [
            {"building": name, "apartment": a, "name": "T", "mobile": m, "email": "", "care": ""}
            for a, m in self.mobile.items()
        ]
        rows = [row | {"language": "en"} for row in rows]
        door.call("PUT", f"/buildings/{name}/households", "owner", rows)
        hours = [START + timedelta(hours=h) for h in range(-48, 96)]
        body = {"hours": [{"at": h.isoformat(), "outdoor_f": 28.0} for h in hours]}
        door.call("PUT", f"/weather/{name}", "owner", body)

    def text(self, home: str, said: str, at: datetime | None = None) -> Any:
        """What a text of that home is answered with."""
        self.sent += 1
        sent_at = (at or self.now).isoformat()
        body = {"id": f"{self.name}-{self.sent}", "from": self.mobile[home], "to": "+12125550199"}
        return self.door.call(
            "POST", "/texts", "gateway", body | {"text": said, "sent_at": sent_at}
        )

    def tickets(self) -> Any:
        """Its open tickets."""
        return self.door.call("GET", f"/tickets?building={self.name}&state=open", "truck")


def building(name: str, zoning: str = "zone_valve", **changes: Any) -> dict[str, Any]:
    """The file of such a house."""
    home = {"emitter": "fin_tube", "zoning": zoning, "thermostat": {"kind": "none"}}
    if zoning == "zone_valve":
        valve = {"kind": "motor_4wire", "transformer": "xf-1"}
        home |= {"thermostat": {"kind": "battery"}, "valve": valve}
    apartments = [
        {"id": f"{floor}{line}", "floor": floor, "line": line, "loop": f"loop-{line}", **home}
        for floor in (1, 2, 3)
        for line in "AB"
    ]
    source = {"id": "boiler", "kind": "hot_water_boiler", "control": "fixed"}
    return {
        "schema": 1,
        "building": name,
        "name": f"{name} Road",
        "timezone": "America/New_York",
        "heat_rule": "us-ny-nyc",
        "weather_station": name,
        "construction": "masonry",
        "heat_sources": [source | {"hot_water": "indirect"}],
        "transformers": [{"id": "xf-1"}],
        "loops": [{"id": f"loop-{line}", "source": "boiler"} for line in "AB"],
        "apartments": apartments,
    } | changes


@pytest.fixture(scope="module")
def door():
    """A service of our own at a November noon."""
    with Door(START) as opened:
        yield opened


def status_of(door: Door, *call: Any) -> int:
    """The status of one call, however it ends."""
    before = len(door.troubles)
    door.call(*call)
    return door.troubles[-1].status if len(door.troubles) > before else 200


def test_contradictory_answers_leave_one_honest_ticket(door):
    """Cold, hot, 80 F, cold again: one ticket, whose chances sum to at most one."""
    house = House(door, "contradict")
    house.text("1A", "no heat, radiator is cold, its 58")
    for said in ("its actually hot", "80", "1", "2", "no its cold", "60", "3"):
        house.text("1A", said)
    (ticket,) = house.tickets()
    assert sum(s["probability"] for s in ticket["suspects"]) <= 1.001


def test_dead_loop_and_a_hot_home_on_the_other_are_two_tickets(door):
    """What cannot have one cause is kept apart."""
    house = House(door, "two-causes")
    for home in ("1A", "2A", "3A"):
        house.text(home, "no heat since this morning, radiators cold")
    house.text("2B", "its 84 in here and the thermostat is on 68, wont shut off")
    assert sorted(sorted(t["apartments"]) for t in house.tickets()) == [["1A", "2A", "3A"], ["2B"]]


def test_texts_out_of_order_and_of_tomorrow_are_taken(door):
    """The clock of a phone is not to be relied on."""
    house = House(door, "order")
    late = house.text("1A", "its getting chilly, 66 now", START - timedelta(hours=3))
    early = house.text("2A", "no heat", START + timedelta(days=1))
    assert late["complaint"]
    assert early["complaint"]


@pytest.mark.parametrize(
    "change",
    [
        {"value": 9000},
        {"value": -3},
        {"value": "lots"},
        {"unit": "psi"},
        {"test": "sniff_dog"},
        {"component": "9Z.valve"},
        {"test": "lever_feel", "outcome": "purple"},
    ],
)
def test_findings_that_make_no_sense_are_refused_and_change_nothing(door, change):
    """Out of range, of unknown names, in the wrong unit: 422 (or 404), the suspects stay."""
    house = House(door, f"finding-{next(AREAS)}")
    ticket = house.text("1A", "no heat in my apartment, thermostat is on")["ticket"]
    before = door.call("GET", f"/tickets/{ticket}", "truck")["suspects"]
    body = FINDING | change
    assert status_of(door, "POST", f"/tickets/{ticket}/findings", "truck", body) in (404, 422)
    assert door.call("GET", f"/tickets/{ticket}", "truck")["suspects"] == before


@pytest.mark.parametrize(
    "changes",
    [
        {"heat_rule": "us-xx-nowhere"},
        {"apartments": []},
        {"building": "another"},
        {"built": 2999},
        {"loops": [{"id": "loop-A", "source": "boiler"}]},
    ],
)
def test_wrong_building_files_are_refused_with_what_is_wrong(door, changes):
    """422 with a pointer and a sentence each."""
    reply = door.call("PUT", "/buildings/wrong", "owner", building("wrong") | changes)
    assert door.troubles[-1].status == 422
    assert all(e["pointer"] is not None and e["detail"] for e in reply["errors"])


def test_a_few_episodes_run_without_a_refusal(door):
    """Buildings, texts, readings and repairs of two episodes: nothing answers 400 or more."""
    before = len(door.troubles)
    lines: list[str] = []
    totals = run(door, 2, 2, lines.append)
    assert [t for t in door.troubles[before:] if t.status >= 400] == []
    assert totals.causes
    assert totals.tickets
    assert all(0 <= p <= 1.001 for p, _ in totals.chances)
    assert any(line.startswith("right component first") for line in table(totals))
