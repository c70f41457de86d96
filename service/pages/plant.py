"""The boiler room of the drawing: circulators with their relays, transformers, heat sources."""

from __future__ import annotations

from collections.abc import Mapping

from service.pages.plant_places import MOST_LETTERS, Plant, edge, room, short
from service.pages.rack import draw_rack
from service.pages.section import LANE, Section
from service.pages.symbols import box, label, linked, rings, tag
from service.usecases.rows.views import BuildingDrawing

__all__ = ["draw_plant"]


def _pump(x: float, y: float, *, suspected: bool) -> str:
    """A circulator in the trade's symbol: a circle with a triangle pointing the way of flow."""
    rings = ""
    if suspected:
        rings = "".join(
            f'<circle class="suspect" fill="none" stroke="black" stroke-width="3" cx="{x}"'
            f' cy="{y}" r="{r}"/>'
            for r in (20, 26)
        )
    return (
        f'<circle class="gear" fill="white" stroke="black" cx="{x}" cy="{y}" r="18"/>'
        f'<path class="ink" d="M{x - 11} {y + 8}H{x + 11}L{x} {y - 14}Z"/>{rings}'
        + (tag(x, y + 38) if suspected else "")
    )


def _header_bar(x: float, y: float, *, suspected: bool) -> str:
    """A loop that needs no pump, such as one of steam: a pipe."""
    riser = f'<path class="pipe" fill="none" stroke="black" stroke-width="2" d="M{x} {y - 6}V{y - 18}"/>'
    return riser + box(x, y, 24, 6, suspected=suspected) + (tag(x, y + 38) if suspected else "")


def _loops(drawing: BuildingDrawing, plant: Plant, leads: Mapping[str, str]) -> list[str]:
    parts = []
    y, suspect = plant.pump_y, drawing.suspected
    for loop, circulator, relay, _ in drawing.loops:
        x = plant.pumps[loop]
        rack = plant.rack(loop)
        if relay:
            at, beside = plant.relays[loop], edge(circulator, rack)
            # A relay of a home's own sits in the panel of its loop.
            suspected = suspect in {relay, *(mark.relay for mark in (rack.homes if rack else ()))}
            parts.append(
                f'<path class="wire" stroke-dasharray="4 3" stroke="black" d="M{x + beside} {y}H{at}"/>'
            )
            drawn = (
                box(at, y, 15, 15, suspected=suspected)
                + f'<path class="gearline" fill="none" stroke="black"'
                f' d="M{at - 9} {y + 4}H{at - 4}L{at + 6} {y - 5}M{at + 5} {y + 4}H{at + 9}"/>'
                + label(at, y + 64, short(relay), most=MOST_LETTERS)
                + (tag(at, y + 38) if suspected else "")
            )
            parts.append(linked(drawn, leads.get(relay), f"{relay}, a relay"))
        name_y = y + 81
        if circulator is not None:
            drawn = _pump(x, y, suspected=suspect in {circulator, loop})
            drawn += label(x, y + 64, short(circulator), most=MOST_LETTERS)
            parts.append(linked(drawn, leads.get(circulator), f"{circulator}, a circulator"))
        elif rack:
            name_y = y - 18 + rack.height + 38
        else:
            parts.append(_header_bar(x, y, suspected=suspect == loop))
        if rack:
            parts += _rack(drawing, plant, loop, leads)
        name = label(x, name_y, loop, strong=True, most=MOST_LETTERS)
        parts.append(linked(name, leads.get(loop), f"{loop}, a loop"))
    return parts


def _rack(drawing: BuildingDrawing, plant: Plant, loop: str, leads: Mapping[str, str]) -> list[str]:
    """The pumps of a loop's homes: in the place of the loop's own, or beside it on the same pipe."""
    rack, middle = plant.racks[loop]
    x, top, suspect = plant.pumps[loop], plant.pump_y - 18, drawing.suspected
    parts = []
    if middle != x:
        joins = f"M{x} {top - 6}H{middle}V{top}"
        parts.append(
            f'<path class="pipe" fill="none" stroke="black" stroke-width="2" d="{joins}"/>'
        )
    parts += draw_rack(rack, middle, top, suspect, leads)
    if middle == x and suspect == loop:
        left = x - rack.half_width
        parts.append(rings(left, top, 2 * rack.half_width, rack.height))
        parts.append(tag(x, top + rack.height + 12))
    return parts


def _transformers(drawing: BuildingDrawing, plant: Plant, leads: Mapping[str, str]) -> list[str]:
    """Two coils side by side, with how many apartments hang on them."""
    parts = []
    y = plant.pump_y
    for name in drawing.transformers:
        x = plant.transformers[name]
        fed = sum(mark.transformer == name for mark in drawing.apartments)
        drawn = (
            box(x, y, 25, 18, suspected=name == drawing.suspected)
            + f'<g class="gearline" fill="none" stroke="black"><circle cx="{x - 6}" cy="{y}" r="9"/>'
            f'<circle cx="{x + 6}" cy="{y}" r="9"/></g>'
            + (tag(x, y + 38) if name == drawing.suspected else "")
            + label(x, y + 64, name, strong=True)
            + label(x, y + 81, f"24 V to {fed}", most=14)
        )
        parts.append(linked(drawn, leads.get(name), f"{name}, a transformer"))
    return parts


def _sources(drawing: BuildingDrawing, plant: Plant, leads: Mapping[str, str]) -> list[str]:
    """Boilers under the loops they heat, with the supply line that joins them."""
    parts = []
    top = plant.source_y
    for i, source in enumerate(drawing.sources):
        x = plant.sources[source] + 48
        pumps = [
            (
                plant.pumps[loop],
                room(loop, circulator, plant.rack(loop)) + 8,
                edge(circulator, plant.rack(loop)),
            )
            for loop, circulator, _, heats in drawing.loops
            if heats == source
        ]
        # A boiler that no loop names, beside others on one header, has no main of its own.
        main = top - 26 - LANE * (i if pumps else 0)
        # Each branch climbs beside the words under its pump, so that none is struck through.
        path = f"M{x} {top}V{main}"
        path += "".join(
            f"M{x} {main}H{px - by}V{plant.pump_y}H{px - side}" for px, by, side in pumps
        )
        parts.append(f'<path class="pipe" fill="none" stroke="black" stroke-width="2" d="{path}"/>')
        parts += _header(drawing, plant, source, main)
        drawn = (
            box(x, top + 24, 56, 26, suspected=source == drawing.suspected)
            + f'<path class="ink" d="M{x - 40} {top + 36}q-9 -9 0 -17q2 -3 1 -7q10 6 10 16'
            f'q0 5 -4 8q1 -5 -3 -8q-5 4 -4 8Z"/>'
            + label(x + 10, top + 29, source, strong=True, most=10)
            + (tag(x + 37, top - 10) if source == drawing.suspected else "")
        )
        parts.append(linked(drawn, leads.get(source), f"{source}, a heat source"))
    return parts


def _header(drawing: BuildingDrawing, plant: Plant, source: str, main: float) -> list[str]:
    """The pipe that joins the first boiler of a cascade to the others, marked when it is the suspect."""
    cascade = next((c for c in drawing.cascades if c[1][0] == source), None)
    if cascade is None:
        return []
    ends = [plant.sources[boiler] + 48 for boiler in cascade[1]]
    path = f"M{ends[0]} {main}H{max(ends)}" + "".join(
        f"M{x} {plant.source_y}V{main}" for x in ends[1:]
    )
    drawn = f'<path class="pipe" fill="none" stroke="black" stroke-width="2" d="{path}"/>'
    if cascade[0] == drawing.suspected:
        drawn += rings(min(ends), main - 4, max(max(ends) - min(ends), 12), 8)
        drawn += tag((min(ends) + max(ends)) / 2, main - 20)
    return [drawn]


def draw_plant(
    drawing: BuildingDrawing, plant: Plant, section: Section, leads: Mapping[str, str]
) -> list[str]:
    """The boiler room with everything in it: a cellar cut open below the ground line."""
    right = max(plant.right, section.right)
    top, floor = section.ground, plant.floor
    return [
        (
            f'<path class="wall" fill="none" stroke="black" stroke-width="3"'
            f' d="M48 {top}V{floor}H{right}V{top}"/>'
        ),
        f'<text class="word end" x="{right - 12}" y="{floor - 12}">boiler room</text>',
        *_sources(drawing, plant, leads),
        *_loops(drawing, plant, leads),
        *_transformers(drawing, plant, leads),
    ]
