"""A part's label, drawn in millimetres: what, where, since when, and a code that leads to its page."""

from __future__ import annotations

import segno
from markupsafe import Markup, escape

from service.pages.words import clean
from service.usecases.repairs.part_label import Label

__all__ = ["HEIGHT_MM", "WIDTH_MM", "code_path", "label_svg"]

# Fits the usual 62 mm rolls and, four by eight, a sheet of paper.
WIDTH_MM, HEIGHT_MM = 62, 29
CODE_MM, MARGIN_MM = 25, 2
QUIET = 4  # modules of empty border that a reader needs (ISO/IEC 18004, from memory)
LONGEST = 26  # characters that fit beside the code


def label_svg(label: Label, address: str) -> Markup:
    """The label; ``address`` is what its code says."""
    path, size = code_path(address)
    lines = [
        (6.5, 4.2, "strong", label.component),
        (11.0, 3.0, "", label.building_name),
        (15.0, 3.0, "", label.part),
        (20.6, 4.2, "strong", label.installed_on.isoformat() if label.installed_on else "no date"),
        (25.0, 3.0, "", label.reference),
    ]
    left = CODE_MM + 2 * MARGIN_MM
    words = "".join(
        f'<text x="{left}" y="{y}" font-size="{high}"{_weight(kind)}>{escape(_short(says))}</text>'
        for y, high, kind, says in lines
        if says
    )
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="label" width="{WIDTH_MM}mm"'
        f' height="{HEIGHT_MM}mm" viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}" role="img"'
        f' font-family="sans-serif" aria-label="{escape(_spoken(label))}">'
        f'<rect width="{WIDTH_MM}" height="{HEIGHT_MM}" fill="#fff"/>'
        f'<svg x="{MARGIN_MM}" y="{MARGIN_MM}" width="{CODE_MM}" height="{CODE_MM}"'
        f' viewBox="0 0 {size} {size}" shape-rendering="crispEdges">'
        f'<path fill="#000" d="{path}"/></svg>'
        f'<g fill="#000">{words}</g></svg>'
    )
    return Markup(drawn)  # noqa: S704 - every text in it is escaped above


def code_path(address: str) -> tuple[str, int]:
    """The dark modules of the code as one path of unit squares, and the side with its quiet zone."""
    code = segno.make(address, error="m", micro=False)
    steps = [
        f"M{x + QUIET} {y + QUIET}h1v1h-1z"
        for y, row in enumerate(code.matrix)
        for x, dark in enumerate(row)
        if dark
    ]
    return "".join(steps), len(code.matrix) + 2 * QUIET


def _weight(kind: str) -> str:
    return ' font-weight="700"' if kind == "strong" else ""


def _short(text: str) -> str:
    plain = str(clean(text))
    return plain if len(plain) <= LONGEST else plain[: LONGEST - 1] + "…"


def _spoken(label: Label) -> str:
    since = f", installed {label.installed_on.isoformat()}" if label.installed_on else ""
    return str(clean(f"Label of {label.component}, {label.building_name}: {label.part}{since}"))
