"""The reliability curve as a small SVG picture."""

from __future__ import annotations

from collections.abc import Sequence

from .figures import Bin

__all__ = ["reliability_svg"]

_SIDE, _EDGE = 360, 48


def reliability_svg(bins: Sequence[Bin], title: str) -> str:
    """Stated chance across, how often it was so upwards; the diagonal is honest."""
    full = _SIDE + 2 * _EDGE
    left, right, low, high = _EDGE, _EDGE + _SIDE, _EDGE + _SIDE, _EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {full} {full}" role="img">',
        f'<g font-family="sans-serif" font-size="12"><title>{title}</title>',
        f'<rect width="{full}" height="{full}" fill="white"/>',
        f'<rect x="{left}" y="{high}" width="{_SIDE}" height="{_SIDE}" fill="none" stroke="#888"/>',
        f'<line x1="{left}" y1="{low}" x2="{right}" y2="{high}" stroke="#888" stroke-dasharray="4 4"/>',
    ]
    for tick in (0, 0.25, 0.5, 0.75, 1):
        x, y = _x(tick), _y(tick)
        parts.append(f'<text x="{x}" y="{low + 16}" text-anchor="middle">{tick:.0%}</text>')
        parts.append(f'<text x="{left - 6}" y="{y + 4}" text-anchor="end">{tick:.0%}</text>')
    points = " ".join(f"{_x(b.stated):.1f},{_y(b.seen.value):.1f}" for b in bins)
    parts.append(f'<polyline points="{points}" fill="none" stroke="#1f4e79" stroke-width="2"/>')
    parts += [_dot(b) for b in bins]
    middle = full / 2
    parts.append(f'<text x="{middle}" y="{full - 10}" text-anchor="middle">stated chance</text>')
    parts.append(
        f'<text x="14" y="{middle}" text-anchor="middle" transform="rotate(-90 14 {middle})">'
        "how often it was so</text>"
    )
    parts.append(f'<text x="{middle}" y="24" text-anchor="middle" font-size="14">{title}</text>')
    return "\n".join([*parts, "</g>", "</svg>", ""])


def _x(share: float) -> float:
    return _EDGE + _SIDE * share


def _y(share: float) -> float:
    return _EDGE + _SIDE * (1 - share)


def _dot(found: Bin) -> str:
    """A dot with its interval; how many lie behind it shows on pointing at it."""
    low, high = found.seen.interval
    x = _x(found.stated)
    return (
        f'<g stroke="#1f4e79"><line x1="{x:.1f}" y1="{_y(low):.1f}" x2="{x:.1f}" y2="{_y(high):.1f}"/>'
        f'<circle cx="{x:.1f}" cy="{_y(found.seen.value):.1f}" r="4" fill="#1f4e79">'
        f"<title>stated {found.stated:.2f}: {found.seen}</title></circle></g>"
    )
