"""The drawing of a building: well formed, complete, without colour or script."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up import HOSTILE, SUSPECTS, drawing

from service.pages.drawing import STATE_WORDS, building_svg, drawing_summary, suspect_home
from service.pages.section import lay_out
from service.usecases.rows.views import ApartmentMark, BuildingDrawing

FED = SUSPECTS[0].explains


def _tree(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own output


def _texts(svg: str) -> list[str]:
    return [element.text or "" for element in _tree(svg).iter("text")]


@pytest.mark.parametrize(("floors", "lines"), [(3, "AB"), (4, "ABCD"), (10, "ABCDEFG")])
def test_every_home_is_drawn_with_its_name_and_a_word(floors: int, lines: str) -> None:
    """From six to seventy homes, each cell carries name and state in words."""
    view = drawing(floors, lines)
    texts = _texts(building_svg(view, FED))
    assert {mark.apartment for mark in view.apartments} <= set(texts)
    for state, word in STATE_WORDS.items():
        assert texts.count(word) == sum(m.state == state for m in view.apartments)


def test_states_differ_by_pattern_without_any_style_sheet() -> None:
    """With presentation attributes alone, the six states have six different fills."""
    bands = [r for r in _tree(building_svg(drawing())).iter("rect") if "band" in r.get("class", "")]
    fills = {r.get("class"): r.get("fill") for r in bands}
    assert len(fills) == 6
    assert len(set(fills.values())) == 6


def test_nothing_in_the_drawing_needs_inline_style_or_script() -> None:
    """The strict content policy would drop style attributes and handlers."""
    for element in _tree(building_svg(drawing(), FED)).iter():
        assert element.tag not in {"style", "script", "foreignObject"}
        assert not any(name == "style" or name.startswith("on") for name in element.attrib)


@pytest.mark.parametrize(
    "suspected", ["pump-1", "relay-2", "xf-1", "boiler-1", "loop-2", "2A.valve", "quarry-9"]
)
def test_the_suspect_is_outlined_twice_and_named(suspected: str) -> None:
    """Whatever kind of component it is, it is marked once, with a double line and the word."""
    svg = building_svg(drawing(suspected=suspected), FED)
    marks = [e for e in _tree(svg).iter() if e.get("class") == "suspect"]
    assert len(marks) == 2
    assert _texts(svg).count("suspect") == 1


def test_a_suspected_riser_is_drawn_upright_and_marked_where_it_begins() -> None:
    """Of loop 2's two floors and four lines, the homes of line C hang on one heavy upright."""
    suspect = drawing(suspected="loop-2.riser-C", suspected_on="loop-2")
    svg = building_svg(suspect, ("1C", "2C"))
    heavy = re.findall(r'<g class="pipe heavy".*?</g>', svg)
    assert len(heavy) == 1
    assert heavy[0].count('class="joint"') == 2
    assert len([e for e in _tree(svg).iter() if e.get("class") == "suspect"]) == 2
    assert _texts(svg).count("suspect") == 1
    assert "Suspect: riser of line C on loop-2." in svg


@pytest.mark.parametrize("suspected", ["boiler-1", "boiler-2", "header"])
def test_boilers_side_by_side_feed_every_loop(suspected: str) -> None:
    """Whichever of a cascade is the suspect, or what they share: marked once, heavy to both loops."""
    two = ("boiler-1", "boiler-2")
    svg = building_svg(
        drawing(suspected=suspected, sources=two, cascades=(("header", two),)), ("2A", "3B")
    )
    assert len(re.findall(r'<g class="pipe heavy".*?</g>', svg)) == 2
    assert len([e for e in _tree(svg).iter() if e.get("class") == "suspect"]) == 2
    assert _texts(svg).count("suspect") == 1


def test_no_suspect_no_mark() -> None:
    """A ticket without a suspect marks nothing."""
    svg = building_svg(drawing(suspected=None))
    assert 'class="suspect"' not in svg
    assert "suspect" not in _texts(svg)


def test_heavy_lines_lead_to_the_homes_it_explains_only() -> None:
    """Of loop 2's eight homes, four are explained: four heavy branches, not eight."""
    heavy = re.findall(
        r'<g class="pipe heavy".*?</g>', building_svg(drawing(), ("2A", "2B", "2C", "2D"))
    )
    assert len(heavy) == 1
    assert heavy[0].count('class="joint"') == 4


def test_a_suspected_transformer_shows_its_wiring_dashed() -> None:
    """Power is drawn only when power is the suspect."""
    assert "wire heavy" in building_svg(drawing(suspected="xf-1"), FED)
    assert "wire heavy" not in building_svg(drawing(), FED)


def test_the_apartments_own_component_marks_the_apartment() -> None:
    """A valve or thermostat is suspected where it hangs; a plant component is in no home."""
    assert suspect_home(drawing(suspected="3B.thermostat")) == "3B"
    assert suspect_home(drawing(suspected="3B")) == "3B"
    assert suspect_home(drawing(suspected="pump-2")) is None


def own_pumps(view: BuildingDrawing, *homes: str) -> BuildingDrawing:
    """The same house, these homes (or all) with a pump and a relay of their own."""
    return replace(
        view,
        apartments=tuple(
            replace(m, pump=f"{m.apartment}.circulator", relay=f"{m.apartment}.relay")
            if m.apartment in homes or not homes
            else m
            for m in view.apartments
        ),
    )


HEADERS = (("loop-1", None, "panel-1", "boiler-1"), ("loop-2", None, "panel-2", "boiler-1"))


def test_homes_with_pumps_of_their_own_have_each_one_in_the_boiler_room() -> None:
    """Sixteen homes on two headers: sixteen small circulators below ground, each named by its home."""
    leads = {f"{f}{line}.circulator": f"/plant/{f}{line}" for f in range(1, 5) for line in "ABCD"}
    svg = building_svg(own_pumps(drawing(suspected=None, loops=HEADERS)), (), leads)
    ground = lay_out(drawing()).ground
    pumps = [c for c in _tree(svg).iter("circle") if c.get("class") == "gear"]
    assert len(pumps) == 16
    assert all(float(c.get("cy", 0)) > ground for c in pumps)
    for home in ("1A", "4D"):
        assert _texts(svg).count(home) == 2  # its window and its pump
        assert f'href="/plant/{home}"' in svg
        assert f'aria-label="{home}.circulator, the circulator of {home}"' in svg


@pytest.mark.parametrize("suspected", ["2B.circulator", "2B.relay"])
def test_a_suspected_own_pump_is_marked_where_it_hangs(suspected: str) -> None:
    """Pump and relay of 2B stand in the boiler room: marked there, not at the home, heavy line to it."""
    view = own_pumps(drawing(suspected=suspected, loops=HEADERS))
    assert suspect_home(view) is None
    svg = building_svg(view, ("2B",))
    marks = [e for e in _tree(svg).iter() if e.get("class") == "suspect"]
    assert len(marks) == 2
    assert _texts(svg).count("suspect") == 1
    assert all(float(e.get("cy") or e.get("y", 0)) > lay_out(view).ground for e in marks)
    heavy = re.findall(r'<g class="pipe heavy".*?</g>', svg)
    assert len(heavy) == 1
    assert heavy[0].count('class="joint"') == 1


def test_one_home_with_its_own_pump_stands_beside_the_loops() -> None:
    """A home of another zoning on a loop with a pump: both are drawn, the loop's and the home's."""
    svg = building_svg(own_pumps(drawing(suspected="3B.circulator"), "3B"), ("3B",))
    assert "pump-1" in _texts(svg)
    assert len([c for c in _tree(svg).iter("circle") if c.get("class") == "gear"]) == 3


def test_a_high_rack_moves_what_stands_below_it() -> None:
    """Forty homes on one header: seven rows of pumps, the boiler below the last of them."""
    homes = own_pumps(
        drawing(10, "ABCD", loops=(("loop-1", None, "panel-1", "boiler-1"),), suspected="boiler-1")
    )
    homes = replace(homes, apartments=tuple(replace(m, loop="loop-1") for m in homes.apartments))
    tree = _tree(building_svg(homes))
    lowest = max(float(c.get("cy", 0)) for c in tree.iter("circle") if c.get("class") == "gear")
    boiler = min(float(r.get("y", 0)) for r in tree.iter("rect") if r.get("class") == "suspect")
    assert boiler > lowest + 40
    assert float(tree.get("height", 0)) > boiler + 60


def test_hostile_names_stay_text() -> None:
    """A building's name cannot open a tag or turn the text round."""
    svg = building_svg(replace(drawing(), name=HOSTILE))
    assert "<img" not in svg
    assert "\u202e" not in svg
    _tree(svg)


def test_the_summary_says_what_the_picture_shows() -> None:
    """Those who do not see it read the same."""
    says = drawing_summary(drawing())
    assert says.startswith(
        "4 floors, 16 apartments. Explained: 2A, 2C, 2D. Reported: 3C. Predicted: "
    )
    assert says.endswith("Suspect: pump-2.")


def test_a_loop_with_more_floors_than_lines_climbs_beside_its_line() -> None:
    """A line's own loop is drawn upright, a floor's own loop flat."""
    marks = tuple(
        ApartmentMark(f"{f}{line}", f, line, f"loop-{line}", None, "silent", "silent")
        for f in range(1, 6)
        for line in "AB"
    )
    runs = lay_out(drawing(apartments=marks, loops=(), transformers=())).runs
    assert [run.upright for run in runs] == [True, True]
    assert not any(run.upright for run in lay_out(drawing()).runs)


@st.composite
def _buildings(draw: st.DrawFn) -> BuildingDrawing:
    homes = draw(
        st.lists(
            st.tuples(st.integers(-2, 12), st.sampled_from("ABCDEFGH"), st.integers(1, 5)),
            min_size=0,
            max_size=40,
        )
    )
    marks = tuple(
        ApartmentMark(
            f"h{i}",
            floor,
            line,
            f"l{loop}",
            "x1",
            "explained",
            "words",
            pump=draw(st.sampled_from([None, f"h{i}.circulator"])),
        )
        for i, (floor, line, loop) in enumerate(homes)
    )
    loops = tuple(
        (
            f"l{n}",
            draw(st.sampled_from([None, f"p{n}"])),
            draw(st.sampled_from([None, f"r{n}"])),
            "b1",
        )
        for n in (1, 2)
    )
    names = ["l1", "p2", "r1", "x1", "b1", "quarry-9", "h0", "h1.valve", "h1.circulator", None]
    suspected = draw(st.sampled_from(names))
    return drawing(apartments=marks, loops=loops, transformers=("x1",), sources=("b1",)).__class__(
        "quarry-9", "House", marks, loops, ("x1",), ("b1",), suspected
    )


@given(_buildings())
def test_any_building_is_drawn_inside_its_own_frame(view: BuildingDrawing) -> None:
    """Gaps, cellars, doubled cells, unknown circulators: well formed, and no home outside."""
    svg = building_svg(view, tuple(mark.apartment for mark in view.apartments))
    tree = _tree(svg)
    width, height = float(tree.get("width", 0)), float(tree.get("height", 0))
    for rect in tree.iter("rect"):
        if "cell" in rect.get("class", ""):
            assert 0 <= float(rect.get("x", -1)) <= width - 100
            assert 0 <= float(rect.get("y", -1)) <= height - 50
    cells = [(r.get("x"), r.get("y")) for r in tree.iter("rect") if "cell" in r.get("class", "")]
    assert len(set(cells)) == len(view.apartments)
