"""Where everything stands in the drawing of a building: a section with the boiler room below.

Floors are stacked as they are built, lines of apartments are columns. A loop that serves more
floors than lines climbs beside its lines; any other loop climbs once at the right-hand wall and
runs under the floors it serves. Lanes are handed out so that loops in floor order do not cross.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from service.usecases.rows.views import ApartmentMark, BuildingDrawing

__all__ = ["CELL_HEIGHT", "CELL_WIDTH", "LANE", "Run", "Section", "lay_out"]

CELL_WIDTH, CELL_HEIGHT, LANE = 132, 72, 9
_GAP, _MARGIN, _FLOOR_LABEL, _ROOF = 16, 14, 46, 48

Column = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Run:
    """What one loop (or one transformer's wiring) feeds, and the way its line takes."""

    name: str
    apartments: tuple[ApartmentMark, ...]
    upright: bool
    power: bool = False

    @property
    def floors(self) -> frozenset[int]:
        """The floors it serves."""
        return frozenset(mark.floor for mark in self.apartments)

    @property
    def top(self) -> int:
        """The highest floor it serves."""
        return max(self.floors)


@dataclass(frozen=True, slots=True)
class Section:
    """Finished positions, in drawing units."""

    cells: dict[str, tuple[float, float]]  # apartment: left, top
    columns: tuple[tuple[str, float], ...]  # line, left
    floors: tuple[tuple[int, float], ...]  # floor, top of its cells
    runs: tuple[Run, ...]
    riser_x: dict[tuple[str, str], float]  # (run, line) upright, (run, "") at the wall
    lane_y: dict[tuple[str, int], float]  # (run, floor) under the cells
    header_y: dict[str, float]
    right: float  # right-hand wall of the building
    ground: float
    plant_top: float


def _runs(drawing: BuildingDrawing) -> tuple[Run, ...]:
    """One run per loop in file order, and the wiring when a transformer is the suspect."""
    names = list(dict.fromkeys([loop[0] for loop in drawing.loops]))
    names += [m.loop for m in drawing.apartments if m.loop not in names]
    runs = [
        _run(
            name,
            tuple(m for m in drawing.apartments if m.loop == name),
            has_risers=name == drawing.suspected_on,
        )
        for name in dict.fromkeys(names)
    ]
    if drawing.suspected in drawing.transformers:
        wired = tuple(m for m in drawing.apartments if m.transformer == drawing.suspected)
        runs.append(_run(str(drawing.suspected), wired, power=True))
    return tuple(run for run in runs if run.apartments)


def _run(
    name: str,
    marks: tuple[ApartmentMark, ...],
    *,
    power: bool = False,
    has_risers: bool = False,
) -> Run:
    lines = {mark.line for mark in marks}
    floors = {mark.floor for mark in marks}
    upright = has_risers or len(lines) < len(floors)
    return Run(name=name, apartments=marks, upright=upright, power=power)


def _columns(marks: tuple[ApartmentMark, ...]) -> dict[str, Column]:
    """Each apartment's column; two apartments of one line on one floor stand side by side."""
    taken: dict[tuple[int, str], int] = {}
    columns: dict[str, Column] = {}
    for mark in sorted(marks, key=lambda m: (m.floor, m.line, m.apartment)):
        place = taken.get((mark.floor, mark.line), 0)
        columns[mark.apartment] = (mark.line, place)
        taken[mark.floor, mark.line] = place + 1
    return columns


def _offsets(start: float, sizes: list[float]) -> list[float]:
    return [start + total for total in accumulate([0.0, *sizes])]


def lay_out(drawing: BuildingDrawing) -> Section:
    """Place apartments, risers and lanes."""
    runs = _runs(drawing)
    column_of = _columns(drawing.apartments)
    columns = sorted(set(column_of.values()))
    floors = sorted({mark.floor for mark in drawing.apartments}, reverse=True)
    climbing = {
        c: [
            r for r in runs if r.upright and c[1] == 0 and any(m.line == c[0] for m in r.apartments)
        ]
        for c in columns
    }
    flat = {f: [r for r in runs if not r.upright and f in r.floors] for f in floors}
    lefts = _offsets(
        _MARGIN + _FLOOR_LABEL, [_GAP + LANE * len(climbing[c]) + CELL_WIDTH for c in columns]
    )
    tops = _offsets(_ROOF, [CELL_HEIGHT + _GAP + LANE * len(flat[f]) for f in floors])
    column_x = {c: lefts[i + 1] - CELL_WIDTH for i, c in enumerate(columns)}
    floor_y = dict(zip(floors, tops, strict=False))
    wall = sorted((r for r in runs if not r.upright), key=lambda r: r.top)
    riser_x = {(r.name, ""): lefts[-1] + 16 + LANE * i for i, r in enumerate(wall)}
    for column, climbers in climbing.items():
        for i, run in enumerate(climbers):
            riser_x[run.name, column[0]] = column_x[column] - 8 - LANE * i
    return Section(
        cells={
            m.apartment: (column_x[column_of[m.apartment]], floor_y[m.floor])
            for m in drawing.apartments
        },
        columns=tuple((c[0], column_x[c]) for c in columns),
        floors=tuple((f, floor_y[f]) for f in floors),
        runs=runs,
        riser_x=riser_x,
        lane_y={
            (r.name, f): floor_y[f] + CELL_HEIGHT + 8 + LANE * i
            for f in floors
            for i, r in enumerate(flat[f])
        },
        # The loop whose pump stands furthest right takes the lowest header, so that its line
        # to the wall never crosses the riser of a loop that stands left of it.
        header_y={r.name: tops[-1] + 22 + LANE * i for i, r in enumerate(runs)},
        right=lefts[-1] + 16 + LANE * len(wall) + 8,
        ground=tops[-1],
        plant_top=tops[-1] + 22 + LANE * len(runs) + 20,
    )
