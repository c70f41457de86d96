"""The forecast of a home's temperature against the legal floor, as inline SVG and as sentences.

Told apart by line: the room is a solid heavy line, the law a stepped line with a hatched ground
below it, outdoors is in the table only, because its scale is another one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from service.pages.symbols import say
from service.pages.times import clock_words, day_words, when_words
from service.usecases.showing.show_forecast import ForecastHour, ForecastView

__all__ = ["forecast_svg", "forecast_words", "outdoor_words", "table_hours"]

_WIDTH, _HEIGHT = 640, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 54, 14, 24, 52
_TICK_F = 5


@dataclass(frozen=True, slots=True)
class _Frame:
    """From hours and degrees to drawing units."""

    start: datetime
    hours: float
    low_f: float
    high_f: float

    def x(self, at: datetime) -> float:
        """Where an instant stands."""
        passed = (at - self.start).total_seconds() / 3600
        return round(_LEFT + (_WIDTH - _LEFT - _RIGHT) * passed / self.hours, 1)

    def y(self, degrees_f: float) -> float:
        """Where a temperature stands."""
        share = (degrees_f - self.low_f) / (self.high_f - self.low_f)
        return round(_HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * share, 1)


def forecast_words(view: ForecastView, now: datetime) -> str:
    """What the plot shows, in one or two sentences."""
    first, last = view.hours[0], view.hours[-1]
    lowest = min(view.hours, key=lambda hour: hour.room_f)
    parts = [f"{view.apartment} is expected at about {first.room_f:.0f} F now"]
    if lowest is first:
        parts.append(f" and at {last.room_f:.0f} F {when_words(last.at, now, view.timezone)}.")
    else:
        parts.append(f", at its lowest {lowest.room_f:.0f} F ")
        parts.append(f"{when_words(lowest.at, now, view.timezone)}.")
    if view.below_at is None:
        held = any(hour.floor_f is not None for hour in view.hours)
        parts.append(" It stays above the legal floor." if held else " No legal floor holds.")
    elif view.below_at <= now:
        parts.append(" It is under the legal floor already.")
    else:
        at = when_words(view.below_at, now, view.timezone)
        parts.append(f" It passes the legal floor at {at}.")
    return "".join(parts)


def outdoor_words(view: ForecastView) -> str:
    """The weather that the forecast rests on; empty when nobody knows it."""
    known = [hour.outdoor_f for hour in view.hours if hour.outdoor_f is not None]
    if not known or view.hours[0].outdoor_f is None:
        return ""
    return f"Outdoors {known[0]:.0f} F now, {min(known):.0f} F at the lowest."


def table_hours(view: ForecastView, every: int = 3) -> tuple[ForecastHour, ...]:
    """The hours for those who read a table: every third one."""
    return view.hours[::every]


def forecast_svg(view: ForecastView, now: datetime) -> str:
    """The plot; its sentences stand in ``desc``."""
    values = [hour.room_f for hour in view.hours]
    values += [hour.floor_f for hour in view.hours if hour.floor_f is not None]
    values += [view.told_f] if view.told_f is not None else []
    frame = _Frame(
        start=view.hours[0].at,
        hours=(view.hours[-1].at - view.hours[0].at).total_seconds() / 3600,
        low_f=_TICK_F * (min(values) // _TICK_F) - _TICK_F / 2,
        high_f=_TICK_F * (max(values) // _TICK_F + 1),
    )
    line = "L".join(f"{frame.x(h.at)} {frame.y(h.room_f)}" for h in view.hours)
    parts = [
        (
            f'<svg class="plot" role="img" aria-labelledby="pl-title pl-desc"'
            f' viewBox="0 0 {_WIDTH} {_HEIGHT}" width="{_WIDTH}" height="{_HEIGHT}">'
        ),
        f'<title id="pl-title">Room temperature of {say(view.apartment)}, next 48 hours</title>',
        f'<desc id="pl-desc">{say(forecast_words(view, now), 300)}</desc>',
        (
            '<defs><pattern id="below" width="7" height="7" patternUnits="userSpaceOnUse"'
            ' patternTransform="rotate(45)"><path d="M0 0V7" class="below-line" stroke="black"/>'
            "</pattern></defs>"
        ),
        *_grid(frame, view, now),
        *_floor(frame, view),
        f'<path class="room" fill="none" stroke="black" stroke-width="3" d="M{line}"/>',
        *_told(frame, view),
        *_crossing(frame, view, now),
        "</svg>",
    ]
    return "".join(parts)


def _grid(frame: _Frame, view: ForecastView, now: datetime) -> Iterator[str]:
    degrees = _TICK_F * (int(frame.low_f) // _TICK_F + 1)
    while degrees <= frame.high_f:
        y = frame.y(degrees)
        yield f'<path class="grid" stroke="gray" d="M{_LEFT} {y}H{_WIDTH - _RIGHT}"/>'
        yield f'<text class="axis end" text-anchor="end" x="{_LEFT - 7}" y="{y + 6}">{degrees} F</text>'
        degrees += _TICK_F
    foot = _HEIGHT - _BOTTOM
    first = view.hours[0].at.replace(minute=0, second=0, microsecond=0)
    for at in (first + timedelta(hours=h) for h in range(1, len(view.hours))):
        hour = at.astimezone(ZoneInfo(view.timezone)).hour
        if hour % 6:
            continue
        x = frame.x(at)
        yield f'<path class="grid" stroke="gray" d="M{x} {foot}v5"/>'
        if x < _WIDTH - 34:
            yield _under(x, foot + 22, clock_words(at, view.timezone).replace(":00", ""))
        if hour == 12 and x < _WIDTH - 40:
            yield _under(x, foot + 42, day_words(at, now, view.timezone))


def _under(x: float, y: float, words: str) -> str:
    return f'<text class="axis" text-anchor="middle" x="{x}" y="{y}">{say(words, 12)}</text>'


def _floor(frame: _Frame, view: ForecastView) -> Iterator[str]:
    """The law's steps: hatched below, a dashed line on top, the number where a step begins."""
    foot, before = _HEIGHT - _BOTTOM, None
    steps = [*view.law_steps, (view.hours[-1].at, None)]
    for (at, floor_f), (until, _) in pairwise(steps):
        if floor_f is None:
            before = None
            continue
        x, width = frame.x(at), round(frame.x(until) - frame.x(at), 1)
        y = frame.y(floor_f)
        yield (
            f'<rect class="below" fill="url(#below)" x="{x}" y="{y}" width="{width}"'
            f' height="{round(foot - y, 1)}"/>'
        )
        rise = f"M{x} {frame.y(before)}V{y}" if before is not None else f"M{x} {y}"
        yield f'<path class="law" fill="none" stroke="black" stroke-width="2" d="{rise}h{width}"/>'
        if width > 92:
            yield (
                f'<rect class="law-plate" fill="white" x="{x + 3}" y="{y + 3}" width="84" height="22"/>'
                f'<text class="axis" x="{x + 6}" y="{y + 20}">law {floor_f:.0f} F</text>'
            )
        before = floor_f


def _told(frame: _Frame, view: ForecastView) -> Iterator[str]:
    if view.told_f is not None:
        x, y = _LEFT, frame.y(view.told_f)
        cross = f"M{x - 6} {y - 6}l12 12m0 -12l-12 12"
        yield f'<path class="told" stroke="black" stroke-width="2" d="{cross}"/>'
        yield f'<text class="axis" x="{x + 10}" y="{y - 6}">told {view.told_f:.0f} F</text>'


def _crossing(frame: _Frame, view: ForecastView, now: datetime) -> Iterator[str]:
    if view.below_at is None or view.below_at <= now:
        return
    x = frame.x(view.below_at)
    words = when_words(view.below_at, now, view.timezone)
    anchor = "end" if x > _WIDTH * 0.7 else "start"
    yield f'<path class="cross" stroke="black" stroke-width="1.5" d="M{x} {_TOP}V{_HEIGHT - _BOTTOM}"/>'
    yield (
        f'<text class="axis strong" text-anchor="{anchor}" x="{x + (-6 if anchor == "end" else 6)}"'
        f' y="{_TOP + 11}">under the law {say(words, 30)}</text>'
    )
