"""The lines of the drawing: pipe and wire from the plant to the apartments they feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from service.pages.section import CELL_HEIGHT, CELL_WIDTH, Run, Section
from service.pages.symbols import rings, tag
from service.usecases.rows.views import ApartmentMark, BuildingDrawing

if TYPE_CHECKING:
    from service.pages.plant_places import Plant

__all__ = ["fed_by_suspect", "plain_lines", "suspect_lines"]


def _stub_x(section: Section, mark: ApartmentMark, run: Run) -> float:
    """Where a line from below enters an apartment; wiring beside the pipe, not on it."""
    return section.cells[mark.apartment][0] + CELL_WIDTH / 2 + (14 if run.power else 0)


def _flat(section: Section, run: Run, marks: tuple[ApartmentMark, ...]) -> tuple[str, list[str]]:
    """Up the wall, then under each floor served."""
    wall = section.riser_x[run.name, ""]
    floors = sorted({mark.floor for mark in marks})
    path = f"H{wall}V{section.lane_y[run.name, floors[-1]]}"
    dots: list[str] = []
    for floor in floors:
        y = section.lane_y[run.name, floor]
        stubs = [_stub_x(section, m, run) for m in marks if m.floor == floor]
        path += f"M{wall} {y}H{min(stubs)}"
        for x in stubs:
            path += f"M{x} {y}V{_cell_bottom(section, floor)}"
            dots.append(f'<circle class="joint" cx="{x}" cy="{y}" r="2.6"/>')
    return path, dots


def _cell_bottom(section: Section, floor: int) -> float:
    return dict(section.floors)[floor] + CELL_HEIGHT


def _upright(section: Section, run: Run, marks: tuple[ApartmentMark, ...]) -> tuple[str, list[str]]:
    """Along the header, then up beside each line served."""
    header = section.header_y[run.name]
    path, dots = "", []
    for line in sorted({mark.line for mark in marks}):
        x = section.riser_x[run.name, line]
        entries = [
            (section.cells[m.apartment][0], section.cells[m.apartment][1] + CELL_HEIGHT / 2)
            for m in marks
            if m.line == line
        ]
        path += f"H{x}V{min(y for _, y in entries)}M{x} {header}"
        for left, y in entries:
            path += f"M{x} {y}H{left}"
            dots.append(f'<circle class="joint" cx="{x}" cy="{y}" r="2.6"/>')
        path += f"M{x} {header}"
    return path, dots


def _line(section: Section, plant: Plant, run: Run, marks: tuple[ApartmentMark, ...]) -> str:
    """The path of one run to some of its apartments, with a dot wherever it branches."""
    x, y = plant.starts[run.name]
    way = _upright if run.upright else _flat
    path, dots = way(section, run, marks)
    return (
        f'<path fill="none" stroke="black" d="M{x} {y}V{section.header_y[run.name]}{path}"/>'
        + "".join(dots)
    )


def fed_by_suspect(
    drawing: BuildingDrawing, explains: tuple[str, ...]
) -> dict[str, frozenset[str]]:
    """For each run that the suspect acts through, the apartments it would explain."""
    suspected, homes = drawing.suspected, frozenset(explains)
    if not homes or suspected is None:
        return {}
    if suspected in drawing.transformers:
        return {suspected: homes}
    if suspected == drawing.building:
        return {loop[0]: homes for loop in drawing.loops}
    together = next((c for c in drawing.cascades if suspected in {c[0], *c[1]}), None)
    through = {drawing.suspected_on or suspected} if together is None else set(together[1])
    through |= {m.loop for m in drawing.apartments if suspected in {m.pump, m.relay}}
    return {loop[0]: homes for loop in drawing.loops if through.intersection(loop)}


def plain_lines(section: Section, plant: Plant) -> list[str]:
    """Every loop, thin; wiring is drawn only for a suspected transformer."""
    return [
        f'<g class="pipe" stroke-width="2">{_line(section, plant, run, run.apartments)}</g>'
        for run in section.runs
        if not run.power
    ]


def suspect_lines(
    drawing: BuildingDrawing, section: Section, plant: Plant, fed: dict[str, frozenset[str]]
) -> list[str]:
    """The lines from the suspect to the apartments it explains, heavy; wiring is dashed."""
    parts = []
    for run in section.runs:
        marks = tuple(m for m in run.apartments if m.apartment in fed.get(run.name, frozenset()))
        if marks:
            dash = ' stroke-dasharray="10 5"' if run.power else ""
            kind = "wire heavy" if run.power else "pipe heavy"
            line = _line(section, plant, run, marks)
            parts.append(f'<g class="{kind}" stroke-width="5"{dash}>{line}</g>')
        if marks and run.name == drawing.suspected_on:
            x, y = section.riser_x[run.name, marks[0].line], section.header_y[run.name]
            parts.append(rings(x - 6, y - 14, 12, 12) + tag(x - 46, y - 8))
    return parts
