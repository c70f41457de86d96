"""The boiler room of the drawing: circulators with their relays, transformers, heat sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.pages.section import LANE, Section
from service.pages.symbols import box, label, linked, rings, tag
from service.usecases.views import BuildingDrawing

__all__ = ["PLANT_HEIGHT", "Plant", "draw_plant", "place_plant"]

PLANT_HEIGHT = 262
MOST_LETTERS = 13
_LEFT, _TRANSFORMER, _SOURCE = 84, 112, 144


@dataclass(frozen=True, slots=True)
class Plant:
    """Finished positions of the plant; ``starts`` is where each run's line leaves it."""

    pumps: dict[str, float]  # loop: x of its circulator, or of its header
    relays: dict[str, float]
    transformers: dict[str, float]
    sources: dict[str, float]
    starts: dict[str, tuple[float, float]]
    pump_y: float
    source_y: float
    right: float


def place_plant(drawing: BuildingDrawing, section: Section) -> Plant:
    """Stand the plant side by side: loops in file order, then transformers; sources below."""
    x, y = float(_LEFT), section.plant_top + 26
    pumps: dict[str, float] = {}
    relays: dict[str, float] = {}
    for loop, circulator, relay, _source in drawing.loops:
        left = _room(loop, circulator)
        pumps[loop] = x + left
        right = left
        if relay:
            gap = max(78.0, left + _half(_short(relay)) + 10)
            relays[loop] = pumps[loop] + gap
            right = gap + max(24.0, _half(_short(relay)))
        x += left + right + 34
    transformers: dict[str, float] = {}
    for transformer in drawing.transformers:
        transformers[transformer] = x + 44
        x += _TRANSFORMER
    sources = {s: float(_LEFT + 6 + i * _SOURCE) for i, s in enumerate(drawing.sources)}
    starts = {loop: (px, y - 18) for loop, px in pumps.items()}
    starts |= {t: (tx, y - 18) for t, tx in transformers.items()}
    for run in section.runs:  # a loop that no circulator is known for rises from the floor
        starts.setdefault(run.name, (_LEFT, y))
    right = max([x, *(left + _SOURCE for left in sources.values())])
    return Plant(pumps, relays, transformers, sources, starts, y, section.plant_top + 166, right)


def _short(component: str) -> str:
    """A default id such as ``loop-1.relay`` stands under its loop's name: ``relay`` will do."""
    owner, _, part = component.rpartition(".")
    return part if owner and part in {"circulator", "relay"} else component


def _room(loop: str, circulator: str | None) -> float:
    """Half the width of a loop's pump and of the words under it."""
    return max(36.0, _half(loop), _half(_short(circulator or "")))


def _half(name: str) -> float:
    """Half the width of a word under a thing."""
    return min(len(name), MOST_LETTERS) * 3.9


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
    """Where every home has a pump of its own, a loop is the pipe that they all stand on."""
    riser = f'<path class="pipe" fill="none" stroke="black" stroke-width="2" d="M{x} {y - 6}V{y - 18}"/>'
    return riser + box(x, y, 24, 6, suspected=suspected) + (tag(x, y + 38) if suspected else "")


def _loops(drawing: BuildingDrawing, plant: Plant, leads: Mapping[str, str]) -> list[str]:
    parts = []
    y, suspect = plant.pump_y, drawing.suspected
    for loop, circulator, relay, _ in drawing.loops:
        x = plant.pumps[loop]
        if relay:
            at = plant.relays[loop]
            parts.append(
                f'<path class="wire" stroke-dasharray="4 3" stroke="black" d="M{x + 18} {y}H{at}"/>'
            )
            drawn = (
                box(at, y, 15, 15, suspected=relay == suspect)
                + f'<path class="gearline" fill="none" stroke="black"'
                f' d="M{at - 9} {y + 4}H{at - 4}L{at + 6} {y - 5}M{at + 5} {y + 4}H{at + 9}"/>'
                + label(at, y + 64, _short(relay), most=MOST_LETTERS)
                + (tag(at, y + 38) if relay == suspect else "")
            )
            parts.append(linked(drawn, leads.get(relay), f"{relay}, a relay"))
        if circulator is None:
            parts.append(_header_bar(x, y, suspected=suspect == loop))
        else:
            drawn = _pump(x, y, suspected=suspect in {circulator, loop})
            drawn += label(x, y + 64, _short(circulator), most=MOST_LETTERS)
            parts.append(linked(drawn, leads.get(circulator), f"{circulator}, a circulator"))
        name = label(x, y + 81, loop, strong=True, most=MOST_LETTERS)
        parts.append(linked(name, leads.get(loop), f"{loop}, a loop"))
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
            (plant.pumps[loop], _room(loop, circulator) + 8)
            for loop, circulator, _, heats in drawing.loops
            if heats == source
        ]
        # A boiler that no loop names, beside others on one header, has no main of its own.
        main = top - 26 - LANE * (i if pumps else 0)
        # Each branch climbs beside the words under its pump, so that none is struck through.
        path = f"M{x} {top}V{main}"
        path += "".join(f"M{x} {main}H{px - by}V{plant.pump_y}H{px - 18}" for px, by in pumps)
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
    top, floor = section.ground, section.plant_top + PLANT_HEIGHT - 32
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
