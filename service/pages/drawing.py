"""The building in section as inline SVG: apartments told apart by pattern and word, plant below.

Only classes and presentation attributes are used, so the page's strict content policy holds; the
attributes alone already give a readable black-and-white drawing, the style sheet adds calm.
"""

from __future__ import annotations

from service.pages.pipes import fed_by_suspect, plain_lines, suspect_lines
from service.pages.plant import PLANT_HEIGHT, Plant, draw_plant, place_plant
from service.pages.section import CELL_HEIGHT, CELL_WIDTH, Section, lay_out
from service.pages.symbols import rings, say, tag
from service.pages.words import component_words
from service.usecases.views import ApartmentMark, BuildingDrawing

__all__ = ["PATTERNS", "STATE_WORDS", "building_svg", "drawing_summary"]

STATE_WORDS = {
    "reported": "reported",
    "explained": "explained",
    "silent": "silent",
    "unreachable": "no contact",
}

PATTERNS = (
    '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><rect width="7" height="7" class="paper" fill="white"/>'
    '<rect width="3.5" height="7" class="ink" fill="black"/></pattern>'
    '<pattern id="dots" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<rect width="7" height="7" class="paper" fill="white"/>'
    '<circle cx="2" cy="2" r="1.4" class="ink" fill="black"/>'
    '<circle cx="5.5" cy="5.5" r="1.4" class="ink" fill="black"/></pattern>'
    '<pattern id="cross" width="8" height="8" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><rect width="8" height="8" class="paper" fill="white"/>'
    '<path d="M0 0.5H8M0.5 0V8" class="fine" stroke="black" fill="none"/></pattern></defs>'
)
# Up to this width a phone may shrink the drawing to fit; wider ones scroll in their own box.
_NARROW = 430
_FILLS = {"reported": "url(#hatch)", "explained": "url(#dots)", "unreachable": "url(#cross)"}


def suspect_home(drawing: BuildingDrawing) -> str | None:
    """The apartment that the suspected component stands in, if it is one apartment's own."""
    suspected = drawing.suspected or ""
    names = {mark.apartment for mark in drawing.apartments}
    owner = suspected.rpartition(".")[0]
    return suspected if suspected in names else owner if owner in names else None


def drawing_summary(drawing: BuildingDrawing) -> str:
    """What the drawing shows, in sentences: for those who do not see it."""
    floors = {mark.floor for mark in drawing.apartments}
    parts = [f"{len(floors)} floors, {len(drawing.apartments)} apartments."]
    for state, word in STATE_WORDS.items():
        homes = [mark.apartment for mark in drawing.apartments if mark.state == state]
        if homes and state in {"reported", "explained"}:
            parts.append(f"{word.capitalize()}: {', '.join(homes)}.")
        elif homes:
            parts.append(f"{word.capitalize()}: {len(homes)}.")
    if drawing.suspected:
        parts.append(f"Suspect: {component_words(drawing.suspected)}.")
    return " ".join(parts)


def _shell(section: Section, drawing: BuildingDrawing, width: int) -> list[str]:
    """Roof, walls, floor labels and the ground line."""
    left, right, ground = 14 + 34, section.right, section.ground
    parts = [
        (
            f'<path class="wall" fill="none" stroke="black" stroke-width="2"'
            f' d="M{left} {ground}V32M{right} 32V{ground}"/>'
        ),
        (
            f'<path class="roof" fill="none" stroke="black" stroke-width="4"'
            f' d="M{left - 8} 31H{right + 8}"/>'
        ),
        (
            f'<path class="ground" stroke="black" stroke-width="3"'
            f' d="M2 {ground}H{left}M{right} {ground}H{width - 2}"/>'
        ),
    ]
    shown: set[str] = set()
    for line, x in section.columns:
        if line not in shown:
            middle = x + CELL_WIDTH / 2
            parts.append(f'<text class="lineword" x="{middle}" y="20">{say(line, 12)}</text>')
        shown.add(line)
    parts += [
        f'<text class="floorword" x="24" y="{y + CELL_HEIGHT / 2 + 5}">{floor}</text>'
        for floor, y in section.floors
    ]
    if drawing.suspected == drawing.building:
        parts.append(rings(left - 12, 24, right - left + 24, ground - 20))
        parts.append(tag(right - 80, 24))
    return parts


def _cell(mark: ApartmentMark, x: float, y: float, *, suspected: bool) -> str:
    """One apartment: a patterned band, its name, a short word; the long words on hover."""
    fill = _FILLS.get(mark.state, "white")
    band = f'<rect class="band {say(mark.state)}" fill="{fill}" stroke="black" x="{x}" y="{y}"'
    return (
        f"<g><title>{say(mark.apartment)}: {say(mark.words, 120)}</title>"
        f'<rect class="cell {say(mark.state)}" fill="white" stroke="black" x="{x}" y="{y}"'
        f' width="{CELL_WIDTH}" height="{CELL_HEIGHT}"/>'
        f'{band} width="24" height="{CELL_HEIGHT}"/>'
        f'<text class="name" x="{x + 31}" y="{y + 24}">{say(mark.apartment, 7)}</text>'
        f'<text class="word" x="{x + 31}" y="{y + 43}">{STATE_WORDS.get(mark.state, "")}</text>'
        + (rings(x, y, CELL_WIDTH, CELL_HEIGHT) if suspected else "")
        + (tag(x + CELL_WIDTH - 36, y - 4) if suspected else "")
        + "</g>"
    )


def building_svg(drawing: BuildingDrawing, explains: tuple[str, ...] = ()) -> str:
    """The whole drawing; ``explains`` names the apartments the first suspect would explain."""
    section = lay_out(drawing)
    plant: Plant = place_plant(drawing, section)
    width = round(max(section.right + 16, plant.right + 14))
    height = round(section.plant_top + PLANT_HEIGHT)
    narrow = " narrow" if width <= _NARROW else ""
    home = suspect_home(drawing)
    fed = fed_by_suspect(drawing, explains)
    parts = [
        (
            f'<svg class="building{narrow}" role="img" aria-labelledby="dw-title dw-desc"'
            f' width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
        ),
        f'<title id="dw-title">{say(drawing.name)} in section</title>',
        f'<desc id="dw-desc">{say(drawing_summary(drawing), 600)}</desc>',
        PATTERNS,
        *_shell(section, drawing, width),
        *plain_lines(section, plant),
        *suspect_lines(section, plant, fed),
        *(
            _cell(mark, *section.cells[mark.apartment], suspected=mark.apartment == home)
            for mark in drawing.apartments
        ),
        *draw_plant(drawing, plant, section),
        "</svg>",
    ]
    return "".join(parts)
