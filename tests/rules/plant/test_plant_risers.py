"""Risers: the uprights of a loop. Facts of the trade are common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from rules.model import ApartmentId, ComponentId
from rules.plant import ComponentKind, Graph, read_building_document
from tests.houses import a_bare_home, a_house, a_loop, built, places


def one_loop(
    floors: int, lines: str, piping: str | None = None, zoning: str = "trv"
) -> dict[str, Any]:
    """A building of one loop."""
    made = a_loop(transformer=None) | ({} if piping is None else {"piping": piping})
    homes = [a_bare_home(*at, zoning=zoning) for at in places(floors, lines)]
    return a_house(homes, [made], transformers=())


def test_homes_above_each_other_hang_on_one_riser() -> None:
    """A loop that climbs three floors has an upright for every line."""
    plant = built(one_loop(3, "AB"))

    assert [riser.id for riser in plant.risers] == ["loop-1.riser-A", "loop-1.riser-B"]
    assert plant.risers[0].homes == ("1A", "2A", "3A")
    upright = plant.riser_of(ApartmentId("2B"))
    assert upright is not None
    assert upright.id == "loop-1.riser-B"


@pytest.mark.parametrize(
    ("floors", "lines", "piping", "zoning", "risers"),
    [
        (2, "AB", None, "trv", 0),  # as likely run under one ceiling
        (2, "AB", "risers", "trv", 2),
        (4, "AB", "floors", "trv", 0),
        (4, "AB", "series", "trv", 0),
        (4, "A", "risers", "trv", 0),  # the loop itself is the riser
        (1, "AB", "risers", "trv", 0),  # a line of one home is that home's pipe
        (4, "AB", None, "zone_circulator", 0),  # every home has its own pump
    ],
)
def test_where_there_are_risers(
    floors: int, lines: str, piping: str | None, zoning: str, risers: int
) -> None:
    """The file decides; where it says nothing, a loop of three floors or more has them."""
    assert len(built(one_loop(floors, lines, piping, zoning)).risers) == risers


def test_the_water_of_a_home_passes_its_riser() -> None:
    """Pump, riser, home; what stops a riser stops the homes of its line and nobody else."""
    plant = built(one_loop(3, "AB"))
    riser = ComponentId("loop-1.riser-A")

    assert plant.component(riser).kind is ComponentKind.RISER
    assert plant.apartments_downstream(riser, Graph.WATER) == {"1A", "2A", "3A"}
    assert riser in plant.downstream(ComponentId("pump-1"), Graph.WATER)
    assert "1B" in plant.apartments_downstream(ComponentId("pump-1"), Graph.WATER)
    assert "1B" in plant.apartments_downstream(riser, Graph.PRESSURE)
    for graph in Graph:
        assert riser not in plant.downstream(riser, graph)


def test_a_loop_says_how_it_runs_and_keeps_it() -> None:
    """Piping is written back as it was read; a word that is none is refused with the right ones."""
    plant = built(one_loop(2, "AB", "risers"))
    assert plant.document()["loops"][0]["piping"] == "risers"
    assert built(plant.document()) == plant

    refused, problems = read_building_document(one_loop(2, "AB", "spiral"))
    assert refused is None
    assert problems[0].pointer == "/loops/0/piping"
    assert "risers, floors, series or direct_return" in problems[0].remedy


def test_no_part_may_bear_the_name_of_a_riser() -> None:
    """Tickets name parts by id, and a riser's is made of its loop's and its line's."""
    given = one_loop(3, "AB")
    given["loops"][0]["circulator"]["id"] = "loop-1.riser-A"

    refused, problems = read_building_document(given)

    assert refused is None
    assert [p.pointer for p in problems] == ["/loops/0/circulator/id"]
    assert "riser of line A on loop-1" in problems[0].detail
