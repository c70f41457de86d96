"""Boilers side by side on one header, lead and lag (common practice, no source)."""

from __future__ import annotations

from typing import Any

import pytest

from rules.model import ComponentId
from rules.plant import ComponentKind, Graph, read_building_document
from tests.houses import a_bare_home, a_boiler, a_house, a_loop, built


def staged(*outputs: float | None, kinds: tuple[str, ...] = ()) -> dict[str, Any]:
    """A building of two homes, each on a loop that names the first boiler of one cascade."""
    sources = [
        a_boiler(n, cascade="header", **({} if output is None else {"output_btuh": output}))
        for n, output in enumerate(outputs, start=1)
    ]
    for source, kind in zip(sources, kinds, strict=False):
        source["kind"] = kind
    homes = [a_bare_home(n, "A", on=n, zoning="trv") for n in (1, 2)]
    loops = [a_loop(n, transformer=None) for n in (1, 2)]
    return a_house(homes, loops, sources=sources, transformers=())


@pytest.mark.parametrize(
    ("outputs", "shares"),
    [
        ((100_000, 100_000), (0.5, 0.5)),
        ((120_000, 60_000, 60_000), (0.5, 0.25, 0.25)),
        ((100_000, None), (0.5, 0.5)),  # nobody wrote down how large the second is
    ],
)
def test_outputs_of_a_cascade_add_up(
    outputs: tuple[float | None, ...], shares: tuple[float, ...]
) -> None:
    """A boiler gives its output over the sum of all."""
    (cascade,) = built(staged(*outputs)).cascades

    assert tuple(cascade.share(s.id) for s in cascade.sources) == pytest.approx(shares)
    known = [output for output in outputs if output is not None]
    assert cascade.output_btuh == (sum(known) if len(known) == len(outputs) else None)


def test_every_boiler_of_a_cascade_heats_every_loop() -> None:
    """Also the one that no loop names; and what they share is a component between them and the loops."""
    plant = built(staged(100_000, 100_000))
    shared = plant.component(ComponentId("header"))

    assert shared.kind is ComponentKind.CASCADE
    for component in ("boiler-1", "boiler-2", "header"):
        homes = plant.apartments_downstream(ComponentId(component), Graph.WATER)
        assert homes == {"1A", "2A"}
    assert plant.head_of(ComponentId("loop-1")) == "header"
    assert plant.downstream(ComponentId("header"), Graph.WATER).isdisjoint({"boiler-1", "boiler-2"})


def test_a_boiler_of_no_cascade_stands_alone() -> None:
    """Two boilers with loops of their own are two plants."""
    given = staged(100_000, 100_000)
    for source in given["heat_sources"]:
        del source["cascade"]
    given["loops"][1]["source"] = "boiler-2"
    plant = built(given)

    assert plant.cascades == ()
    assert plant.apartments_downstream(ComponentId("boiler-2"), Graph.WATER) == {"2A"}


def test_a_cascade_keeps_its_name_through_a_document() -> None:
    """Written back as it was read."""
    plant = built(staged(100_000, 80_000))

    assert built(plant.document()) == plant
    assert [s["cascade"] for s in plant.document()["heat_sources"]] == ["header", "header"]


def test_water_and_steam_share_no_header() -> None:
    """A condensing boiler goes beside a cast-iron one, a steam boiler does not."""
    built(staged(1e5, 1e5, kinds=("hot_water_boiler", "condensing_boiler")))

    refused, problems = read_building_document(
        staged(1e5, 1e5, kinds=("hot_water_boiler", "steam_boiler"))
    )
    assert refused is None
    assert [p.pointer for p in problems] == ["/heat_sources/0/cascade"]


def test_a_cascade_needs_a_name_of_its_own() -> None:
    """What the boilers share is named on tickets, and nothing else may bear that name."""
    given = staged(1e5, 1e5)
    for source in given["heat_sources"]:
        source["cascade"] = "loop-1"

    refused, problems = read_building_document(given)

    assert refused is None
    assert "id of the loop" in problems[0].detail


def test_a_station_heated_by_a_loop_is_in_no_cascade() -> None:
    """The heat would go round."""
    given = staged(1e5, 1e5)
    given["heat_sources"][1]["fed_by"] = "loop-2"

    refused, problems = read_building_document(given)

    assert refused is None
    assert "/heat_sources/1/fed_by" in {p.pointer for p in problems}


def test_a_cascade_of_one_is_taken_with_a_word() -> None:
    """Somebody has forgotten the other boiler, or the cascade is gone."""
    plant, problems = read_building_document(staged(1e5))

    assert plant is not None
    assert [p.fatal for p in problems] == [False]
