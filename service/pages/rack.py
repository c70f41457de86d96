"""Where homes have pumps of their own: a rack of small circulators in the boiler room, one a home."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.pages.symbols import label, linked, say, tag
from service.usecases.rows.views import ApartmentMark, BuildingDrawing

__all__ = ["Rack", "draw_rack", "racks_of"]

_ACROSS = 6
_WIDE, _HIGH, _PAD, _RADIUS = 40, 52, 8, 11


@dataclass(frozen=True, slots=True)
class Rack:
    """The pumps of one loop's homes, row by row, each above its home's name."""

    homes: tuple[ApartmentMark, ...]

    @property
    def rows(self) -> int:
        """How many rows they stand in."""
        return -(-len(self.homes) // _ACROSS)

    @property
    def half_width(self) -> float:
        """From its middle to its side."""
        return min(len(self.homes), _ACROSS) * _WIDE / 2 + _PAD

    @property
    def height(self) -> float:
        """From its upper to its lower edge."""
        return self.rows * _HIGH + _PAD

    def at(self, n: int, x: float, top: float) -> tuple[float, float]:
        """The centre of a pump in a rack whose upper edge is centred at ``x``."""
        row, column = divmod(n, _ACROSS)
        left = x - self.half_width + _PAD + _WIDE / 2
        return left + column * _WIDE, top + _PAD + _RADIUS + row * _HIGH


def racks_of(drawing: BuildingDrawing) -> dict[str, Rack]:
    """By loop, where a home on it has a pump of its own."""
    found: dict[str, list[ApartmentMark]] = {}
    for mark in sorted(drawing.apartments, key=lambda mark: (mark.floor, mark.line)):
        if mark.pump:
            found.setdefault(mark.loop, []).append(mark)
    return {loop: Rack(tuple(homes)) for loop, homes in found.items()}


def draw_rack(
    rack: Rack, x: float, top: float, suspect: str | None, leads: Mapping[str, str]
) -> list[str]:
    """The frame, its pumps, and the suspect's mark where one of them is it."""
    left, bottom = x - rack.half_width, top + rack.height
    frame = (
        f'<rect class="gear" fill="white" stroke="black" x="{left}" y="{top}"'
        f' width="{2 * rack.half_width}" height="{rack.height}"/>'
    )
    parts = [frame]
    for n, mark in enumerate(rack.homes):
        px, py = rack.at(n, x, top)
        suspected = mark.pump == suspect
        drawn = _small_pump(px, py, suspected=suspected)
        drawn += label(px, py + 30, mark.apartment, most=5)
        pump = str(mark.pump)
        if suspected:
            middle = min(max(px, left + 35), max(x + rack.half_width - 35, left + 35))
            drawn += tag(middle, bottom + 12)
        parts.append(
            linked(drawn, leads.get(pump), f"{say(pump)}, the circulator of {mark.apartment}")
        )
    return parts


def _small_pump(x: float, y: float, *, suspected: bool) -> str:
    rings = "".join(
        f'<circle class="suspect" fill="none" stroke="black" stroke-width="3" cx="{x}"'
        f' cy="{y}" r="{r}"/>'
        for r in (_RADIUS + 1, _RADIUS + 5)
    )
    return (
        f'<circle class="gear" fill="white" stroke="black" cx="{x}" cy="{y}" r="{_RADIUS}"/>'
        f'<path class="ink" d="M{x - 6} {y + 5}H{x + 6}L{x} {y - 8}Z"/>{rings if suspected else ""}'
    )
