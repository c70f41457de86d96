"""The building in section as inline SVG: apartments told apart by pattern and word, plant below.

Only classes and presentation attributes are used, so the page's strict content policy holds; the
attributes alone already give a readable black-and-white drawing, the style sheet adds calm.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from service.pages.pipes import fed_by_suspect, plain_lines, suspect_lines
from service.pages.plant import draw_plant
from service.pages.plant_places import Plant, place_plant
from service.pages.section import CELL_HEIGHT, CELL_WIDTH, Section, lay_out
from service.pages.symbols import linked, rings, say, tag
from service.pages.words import component_words
from service.usecases.rows.views import ApartmentMark, BuildingDrawing

__all__ = ["PATTERNS", "STATE_LEGEND", "STATE_WORDS", "building_svg", "drawing_summary"]

# In the order of the legend.
STATE_WORDS = {
    "explained": "explained",
    "reported": "reported",
    "predicted": "predicted",
    "elsewhere": "other ticket",
    "silent": "silent",
    "unreachable": "no contact",
}
STATE_LEGEND = {
    "explained": "reported, and the first suspect explains it",
    "reported": "reported, and the first suspect does not explain it",
    "predicted": "the first suspect would trouble it too, nobody there has written",
    "elsewhere": "reported, on another ticket",
    "silent": "could write, has not",
    "unreachable": "no phone number on file, or no texts wanted",
}

PATTERNS = (
    '<defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><rect width="8" height="8" class="paper" fill="white"/>'
    '<rect width="4.5" height="8" class="ink" fill="black"/></pattern>'
    '<pattern id="dots" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="8" height="8" class="paper" fill="white"/>'
    '<circle cx="2" cy="2" r="1.5" class="ink" fill="black"/>'
    '<circle cx="6" cy="6" r="1.5" class="ink" fill="black"/></pattern>'
    '<pattern id="bars" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect width="8" height="8" class="paper" fill="white"/>'
    '<rect y="1" width="8" height="2.5" class="ink" fill="black"/></pattern>'
    '<pattern id="cross" width="8" height="8" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(45)"><rect width="8" height="8" class="paper" fill="white"/>'
    '<path d="M0 0.5H8M0.5 0V8" class="fine" stroke="black" fill="none"/></pattern></defs>'
)
# How far a page may shrink the drawing before it scrolls in its own box instead.
_SIZES = ((430, "narrow"), (820, "middling"))
_FILLS = {
    "explained": "url(#hatch)",
    "reported": "black",
    "predicted": "url(#dots)",
    "elsewhere": "url(#bars)",
    "unreachable": "url(#cross)",
}


def suspect_home(drawing: BuildingDrawing) -> str | None:
    """The apartment that the suspected component stands in, if it is one apartment's own."""
    suspected = drawing.suspected or ""
    if any(suspected in {mark.pump, mark.relay} for mark in drawing.apartments):
        return None  # a home's own pump and its relay stand in the boiler room
    names = {mark.apartment for mark in drawing.apartments}
    owner = suspected.rpartition(".")[0]
    return suspected if suspected in names else owner if owner in names else None


def drawing_summary(drawing: BuildingDrawing) -> str:
    """What the drawing shows, in sentences: for those who do not see it."""
    floors = {mark.floor for mark in drawing.apartments}
    parts = [f"{len(floors)} floors, {len(drawing.apartments)} apartments."]
    for state, word in STATE_WORDS.items():
        homes = [mark.apartment for mark in drawing.apartments if mark.state == state]
        if homes and state not in {"silent", "unreachable"}:
            parts.append(f"{word.capitalize()}: {', '.join(homes)}.")
        elif homes:
            parts.append(f"{word.capitalize()}: {len(homes)}.")
    if drawing.suspected:
        parts.append(f"Suspect: {component_words(drawing.suspected)}.")
    return " ".join(parts)


def _shell(section: Section, drawing: BuildingDrawing, width: int) -> list[str]:
    """What a cut through a house shows: slabs, walls, roof and the ground it stands in."""
    left, right, ground = 14 + 34, section.right, section.ground
    tops = [y for _, y in section.floors]
    slabs = [(top + CELL_HEIGHT, below - 7) for top, below in pairwise([*tops, ground + 7])]
    parts = [
        f'<rect class="slab" fill="white" x="{left}" y="{top}" width="{right - left}"'
        f' height="{max(below - top, 0)}"/>'
        for top, below in slabs
    ]
    parts += [
        (
            f'<path class="wall" fill="none" stroke="black" stroke-width="3"'
            f' d="M{left} {ground}V33M{right} 33V{ground}"/>'
        ),
        (
            f'<path class="roof" fill="none" stroke="black" stroke-width="6"'
            f' d="M{left - 9} 32H{right + 9}"/>'
        ),
        _earth(2, left, ground),
        _earth(right, width - 2, ground),
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


def _earth(left: float, right: float, ground: float) -> str:
    """The ground line with the short strokes that mean earth."""
    strokes = "".join(
        f"M{x} {ground + 2}l-6 9" for x in range(round(left) + 8, round(right) - 1, 11)
    )
    return (
        f'<path class="ground" stroke="black" stroke-width="3" d="M{left} {ground}H{right}"/>'
        f'<path class="earth" stroke="black" fill="none" d="{strokes}"/>'
    )


def _cell(mark: ApartmentMark, x: float, y: float, *, suspected: bool) -> str:
    """One apartment: a patterned window, its name, a short word; the long words on hover."""
    fill, state = _FILLS.get(mark.state, "white"), say(mark.state)
    wide, high = CELL_WIDTH, CELL_HEIGHT
    return (
        f"<g><title>{say(mark.apartment)}: {say(mark.words, 120)}</title>"
        f'<rect class="cell {state}" fill="white" stroke="black" x="{x}" y="{y}"'
        f' width="{wide}" height="{high}"/>'
        f'<rect class="band {state}" fill="{fill}" stroke="black" x="{x + 8}" y="{y + 9}"'
        f' width="26" height="{high - 18}"/>'
        f'<text class="name" x="{x + 43}" y="{y + 26}">{say(mark.apartment, 8)}</text>'
        f'<text class="word" x="{x + 43}" y="{y + 45}">{STATE_WORDS.get(mark.state, "")}</text>'
        f'<text class="word detail" x="{x + 43}" y="{y + 62}">{say(mark.detail, 12)}</text>'
        + (rings(x, y, wide, high) if suspected else "")
        + (tag(x + wide - 36, y - 3) if suspected else "")
        + "</g>"
    )


def building_svg(
    drawing: BuildingDrawing,
    explains: tuple[str, ...] = (),
    addresses: Mapping[str, str] | None = None,
) -> str:
    """The whole drawing.

    Args:
        drawing: what to draw.
        explains: the apartments that the first suspect reaches, for the heavy lines.
        addresses: where a press on an apartment or a component leads, by its id.
    """
    leads = addresses or {}
    section = lay_out(drawing)
    plant: Plant = place_plant(drawing, section)
    width = round(max(section.right + 16, plant.right + 14))
    height = round(plant.floor + 32)
    size = next((name for most, name in _SIZES if width <= most), "wide")
    home = suspect_home(drawing)
    fed = fed_by_suspect(drawing, explains)
    parts = [
        (
            f'<svg class="building {size}" role="{"group" if leads else "img"}"'
            ' aria-labelledby="dw-title dw-desc"'
            f' width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
        ),
        f'<title id="dw-title">{say(drawing.name)} in section</title>',
        f'<desc id="dw-desc">{say(drawing_summary(drawing), 600)}</desc>',
        PATTERNS,
        *_shell(section, drawing, width),
        *plain_lines(section, plant),
        *suspect_lines(drawing, section, plant, fed),
        *(
            linked(
                _cell(mark, *section.cells[mark.apartment], suspected=mark.apartment == home),
                leads.get(mark.apartment),
                f"{mark.apartment}: {mark.words}",
            )
            for mark in drawing.apartments
        ),
        *draw_plant(drawing, plant, section, leads),
        "</svg>",
    ]
    return "".join(parts)
