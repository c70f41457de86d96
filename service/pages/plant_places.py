"""Where everything in the boiler room of the drawing stands."""

from __future__ import annotations

from dataclasses import dataclass

from service.pages.rack import Rack, racks_of
from service.pages.section import Section
from service.usecases.rows.views import BuildingDrawing

__all__ = ["MOST_LETTERS", "Plant", "edge", "place_plant", "room", "short"]

_HEIGHT = 262
MOST_LETTERS = 13
_LEFT, _TRANSFORMER, _SOURCE = 84, 112, 144
_RACK_FITS = 61  # the height of a rack below which there is room for the pipes of the boilers


@dataclass(frozen=True, slots=True)
class Plant:
    """Finished positions of the plant; ``starts`` is where each run's line leaves it."""

    pumps: dict[str, float]  # loop: x of its circulator, or of its header
    racks: dict[str, tuple[Rack, float]]  # loop: its homes' own pumps, and the middle of them
    relays: dict[str, float]
    transformers: dict[str, float]
    sources: dict[str, float]
    starts: dict[str, tuple[float, float]]
    pump_y: float
    source_y: float
    floor: float
    right: float

    def rack(self, loop: str) -> Rack | None:
        """The pumps of a loop's homes, where they have their own."""
        return self.racks[loop][0] if loop in self.racks else None


def place_plant(drawing: BuildingDrawing, section: Section) -> Plant:
    """Stand the plant side by side: loops in file order, then transformers; sources below."""
    x, y = float(_LEFT), section.plant_top + 26
    own = racks_of(drawing)
    pumps: dict[str, float] = {}
    racks: dict[str, tuple[Rack, float]] = {}
    relays: dict[str, float] = {}
    for loop, circulator, relay, _source in drawing.loops:
        rack = own.get(loop)
        left = room(loop, circulator, rack)
        pumps[loop] = x + left
        right = left
        if relay:
            gap = max(78.0, left + _half(short(relay)) + 10)
            relays[loop] = pumps[loop] + gap
            right = gap + max(24.0, _half(short(relay)))
        if rack and circulator is None:
            racks[loop] = rack, pumps[loop]
        elif rack:
            racks[loop] = rack, pumps[loop] + right + 24 + rack.half_width
            right += 24 + 2 * rack.half_width
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
    lower = max([0.0, *(rack.height - _RACK_FITS for rack, _ in racks.values())])
    return Plant(
        pumps,
        racks,
        relays,
        transformers,
        sources,
        starts,
        y,
        section.plant_top + 166 + lower,
        section.plant_top + _HEIGHT - 32 + lower,
        right,
    )


def short(component: str) -> str:
    """A default id such as ``loop-1.relay`` stands under its loop's name: ``relay`` will do."""
    owner, _, part = component.rpartition(".")
    return part if owner and part in {"circulator", "relay"} else component


def room(loop: str, circulator: str | None, rack: Rack | None) -> float:
    """Half the width of a loop's pump, or of its homes' pumps, and of the words under it."""
    wide = rack.half_width if rack and circulator is None else 36.0
    return max(wide, _half(loop), _half(short(circulator or "")))


def edge(circulator: str | None, rack: Rack | None) -> float:
    """From the middle of a loop's pump, or of its homes' pumps, to where a pipe meets it."""
    return rack.half_width if rack and circulator is None else 18


def _half(name: str) -> float:
    """Half the width of a word under a thing."""
    return min(len(name), MOST_LETTERS) * 3.9
