"""Homes zoned by circulators: whose pump is whose, by what a building file says.

That such a zone has a small pump, a check and a relay of a panel is common practice, no source.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from rules.model import ApartmentId, ComponentId
from rules.plant import Graph, Plant, Problem, read_building_document, renewed, transformer_load
from tests.houses import a_bare_home, a_house

PANEL = {"id": "panel", "transformer": "xf-1", "installed": "2011-09"}


def panelled(lines: str = "ABC", of_loop: dict[str, Any] | None = None, **of_home: Any) -> Any:
    """Homes on one loop of zone circulators with a panel."""
    zoned = {"zoning": "zone_circulator", "thermostat": {"kind": "powered"}, **of_home}
    homes = [a_bare_home(2, line, **zoned) for line in lines]
    main = {"id": "loop-1", "source": "boiler-1", "relay": PANEL, **(of_loop or {})}
    return a_house(homes, [main], va=60)


def read(given: Any) -> tuple[Plant, tuple[Problem, ...]]:
    """The plant and what was warned of."""
    plant, problems = read_building_document(given)
    assert plant is not None, problems
    return plant, problems


def reaches(plant: Plant, part: str, graph: Graph) -> set[str]:
    """The homes that lose something with a part."""
    return set(plant.apartments_downstream(ComponentId(part), graph))


def test_homes_on_one_loop_have_each_a_pump_and_a_relay_of_their_own() -> None:
    """They are called after the home; the loop has no pump, and nothing is warned of."""
    plant, problems = read(panelled())

    assert problems == ()
    assert {f"2{x}.{part}" for x in "ABC" for part in ("circulator", "relay")} <= {
        *plant.components
    }
    assert "loop-1.circulator" not in plant.components
    assert reaches(plant, "2B.circulator", Graph.WATER) == {"2B"}
    assert reaches(plant, "2B.relay", Graph.DEMAND) == {"2B"}
    assert plant.downstream(ComponentId("2B.relay"), Graph.DEMAND) == {
        "2B.circulator",
        "panel",
        "boiler-1",
    }


def test_the_relays_of_a_panel_are_as_old_and_fed_as_the_panel() -> None:
    """Unless the home's own says otherwise; each coil is a load on the transformer."""
    plant, _ = read(panelled())
    b = plant.apartment(ApartmentId("2B"))
    assert b.relay is not None
    assert (b.relay.transformer, b.relay.installed) == ("xf-1", date(2011, 9, 1))
    assert reaches(plant, "xf-1", Graph.POWER) == {"2A", "2B", "2C"}
    # Four coils of 5 VA (value from memory of relay data sheets): the panel's and three homes'.
    assert transformer_load(plant, ComponentId("xf-1")).load_va == pytest.approx(20.0)


def test_a_pump_has_the_name_and_the_date_that_its_file_gives() -> None:
    """A pump fitted since is younger than its neighbours."""
    given = panelled()
    given["apartments"][1]["circulator"] = {"id": "small-pump", "installed": "2024-11"}
    plant, _ = read(given)

    pump = plant.component(ComponentId("small-pump"))
    assert (pump.apartment, pump.installed) == ("2B", date(2024, 11, 1))
    after = renewed(plant, {ComponentId("2A.circulator"): date(2026, 1, 9)})
    assert after.component(ComponentId("2A.circulator")).installed == date(2026, 1, 9)
    assert after.component(ComponentId("small-pump")).installed == date(2024, 11, 1)


def test_a_loop_of_one_home_is_that_zone() -> None:
    """Its circulator is the home's pump: there is no second one."""
    plant, problems = read(panelled("A"))

    assert problems == ()
    assert "loop-1.circulator" in plant.components
    assert "2A.circulator" not in plant.components


def test_a_pump_written_at_the_loop_is_one_more() -> None:
    """A technician reads it as the pump of the header; the owner is told, in case it is none."""
    plant, problems = read(panelled(of_loop={"circulator": {"installed": "2019-10"}}))

    assert {"loop-1.circulator", "2B.circulator"} <= {*plant.components}
    assert plant.downstream(ComponentId("loop-1.circulator"), Graph.WATER) >= {
        "2B.circulator",
        "2B",
    }
    (told,) = problems
    assert (told.pointer, told.fatal) == ("/loops/0/circulator", False)
    assert "every home on it has a pump of its own" in told.detail


def test_a_loop_keeps_its_pump_for_homes_that_have_none() -> None:
    """A zone valve beside zone circulators is fed by the loop's pump."""
    given = panelled()
    given["apartments"][0] |= {
        "zoning": "zone_valve",
        "valve": {"kind": "motor_4wire", "transformer": "xf-1"},
    }
    plant, _ = read(given)

    assert "2A.circulator" not in plant.components
    assert {"loop-1.circulator", "2B.circulator"} <= {*plant.components}


def test_without_a_panel_no_relay_is_made_up() -> None:
    """Nobody has written down what starts the pumps, and the owner is told so."""
    plant, problems = read(panelled(of_loop={"relay": None}))

    assert "2B.circulator" in plant.components
    assert "2B.relay" not in plant.components
    assert ("/loops/0/relay", False) in {(p.pointer, p.fatal) for p in problems}


def test_a_pump_of_its_own_does_not_go_with_another_zoning() -> None:
    """The file is refused where it says so, with what would be right."""
    given = panelled()
    given["apartments"][0] |= {"zoning": "trv", "circulator": {"installed": "2019"}}
    plant, problems = read_building_document(given)

    assert plant is None
    (problem,) = (p for p in problems if p.fatal)
    assert problem.pointer == "/apartments/0/circulator"
    assert "zone_circulator" in problem.remedy


def test_an_unknown_transformer_of_a_panel_is_told_once() -> None:
    """Not once more for every relay in it."""
    plant, problems = read_building_document(
        panelled(of_loop={"relay": {**PANEL, "transformer": "xf-9"}})
    )

    assert plant is None
    assert [p.pointer for p in problems if p.fatal] == ["/loops/0/relay/transformer"]
