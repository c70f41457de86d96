"""A building no larger than a stamp: where in it a ticket lies. Beside each row of the queue.

The outline is drawn once a building and used by its rows, so that five hundred rows stay light. The
row names the homes in words; the sketch is only for the eye.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from service.usecases.showing.sketch_buildings import Lying

__all__ = ["Sketch", "sketches"]

_WIDE, _HIGH, _STEP_X, _STEP_Y = 8, 5, 11, 8
_WALL = 4
_MOST_COLUMNS = 10  # a longer house is drawn narrower


@dataclass(frozen=True, slots=True)
class Sketch:
    """One building's outline and the places of its homes."""

    symbol: str  # the id of its outline on the page
    width: int
    height: int
    places: Mapping[str, tuple[int, int]]
    outline: str

    def defined(self) -> Markup:
        """The outline, to stand once on the page."""
        return Markup('<symbol id="{}" viewBox="0 0 {} {}"><path d="{}"/></symbol>').format(
            self.symbol, self.width, self.height, self.outline
        )

    def marked(self, homes: tuple[str, ...]) -> Markup:
        """The building with some homes filled in."""
        spots = "".join(
            f"M{x} {y}h{_WIDE}v{_HIGH}h-{_WIDE}z"
            for x, y in (self.places[home] for home in homes if home in self.places)
        )
        wide, high = self.width, self.height
        return Markup(  # noqa: S704 - numbers, and an id made of hexadecimal digits
            f'<svg class="sketch" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}"'
            f' aria-hidden="true" focusable="false"><use href="#{self.symbol}" width="{wide}"'
            f' height="{high}"/><path class="spot" d="{spots}"/></svg>'
        )


def sketches(layouts: Mapping[str, tuple[Lying, ...]]) -> dict[str, Sketch]:
    """A sketch for each building that has apartments."""
    return {building: _sketch(building, homes) for building, homes in layouts.items() if homes}


def _sketch(building: str, homes: tuple[Lying, ...]) -> Sketch:
    floors = sorted({floor for _, floor, _ in homes}, reverse=True)
    by_floor: dict[int, list[str]] = {}
    for apartment, floor, _line in sorted(homes, key=lambda home: (home[1], home[2], home[0])):
        by_floor.setdefault(floor, []).append(apartment)
    columns = min(max(len(on_floor) for on_floor in by_floor.values()), _MOST_COLUMNS)
    places = {
        apartment: (_WALL + _STEP_X * min(i, columns - 1), _WALL + _STEP_Y * floors.index(floor))
        for floor, on_floor in by_floor.items()
        for i, apartment in enumerate(on_floor)
    }
    width = 2 * _WALL + _STEP_X * columns - (_STEP_X - _WIDE)
    height = 2 * _WALL + _STEP_Y * len(floors) - (_STEP_Y - _HIGH)
    windows = "".join(
        f"M{x} {y}h{_WIDE}v{_HIGH}h-{_WIDE}z" for x, y in dict.fromkeys(places.values())
    )
    walls = f"M.5 {height}V.5H{width - 0.5}V{height}"
    digest = hashlib.sha256(building.encode()).hexdigest()[:10]
    return Sketch(f"s-{digest}", width, height, places, windows + walls)
