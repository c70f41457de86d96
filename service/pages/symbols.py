"""Small pieces that every part of the drawing uses: safe words, the suspect's mark, boxes."""

from __future__ import annotations

from html import escape

from service.pages.words import clean

__all__ = ["box", "label", "linked", "rings", "say", "tag"]


def say(text: str, most: int = 60) -> str:
    """Text made safe for SVG and short enough for its place."""
    whole = str(clean(text))
    return escape(whole if len(whole) <= most else f"{whole[: most - 1]}…")


def label(x: float, y: float, text: str, *, strong: bool = False, most: int = 12) -> str:
    """A short word centred under a thing."""
    kind = "word mid strong" if strong else "word mid"
    return f'<text class="{kind}" text-anchor="middle" x="{x}" y="{y}">{say(text, most)}</text>'


def linked(drawn: str, address: str | None, name: str) -> str:
    """A thing that leads somewhere, if it does."""
    if address is None:
        return drawn
    return f'<a href="{escape(address)}" aria-label="{say(name, 120)}">{drawn}</a>'


def tag(x: float, y: float) -> str:
    """The word "suspect" on a dark plate, centred on a point."""
    return (
        f'<rect class="plate" fill="black" x="{x - 35}" y="{y - 10}" width="70" height="20"/>'
        f'<text class="plateword" fill="white" text-anchor="middle" x="{x}" y="{y + 5}">'
        "suspect</text>"
    )


def rings(x: float, y: float, width: float, height: float) -> str:
    """The suspect's mark: a heavy outline, twice."""
    return "".join(
        f'<rect class="suspect" fill="none" stroke="black" stroke-width="3" x="{x - by}"'
        f' y="{y - by}" width="{width + 2 * by}" height="{height + 2 * by}"/>'
        for by in (2, 8)
    )


def box(x: float, y: float, wide: float, high: float, *, suspected: bool) -> str:
    """A plain box round a centre, marked when it is the suspect."""
    left, top, width, height = x - wide, y - high, 2 * wide, 2 * high
    return (
        f'<rect class="gear" fill="white" stroke="black" x="{left}" y="{top}"'
        f' width="{width}" height="{height}"/>'
        + (rings(left, top, width, height) if suspected else "")
    )
