"""What a heat law asks for, in words."""

from __future__ import annotations

from datetime import date, time

from service.usecases.showing.heat_law_view import LawView, LawWindowView

__all__ = ["law_words"]

_A_YEAR = 2000  # any leap year: only the day and the month are said


def law_words(law: LawView) -> str:
    """Such as "from 1 October to 31 May at least 68 F from 6:00 am to 10:00 pm, while ..."."""
    if not law.windows:
        return "no least temperature is asked for"
    first, last = (_day(*day) for day in law.season)
    asks = "; ".join(_window(window) for window in law.windows)
    whole_year = law.season == ((1, 1), (12, 31))
    season = "all year" if whole_year else f"from {first} to {last}"
    most = f"; at most {law.ceiling_f:g} F by the heating" if law.ceiling_f is not None else ""
    return f"{season} at least {asks}{most}"


def _window(window: LawWindowView) -> str:
    if window.starts == window.ends or (window.starts == time(0) and window.ends is None):
        hours = "at any hour"
    else:
        hours = f"from {_clock(window.starts)} to {_clock(window.ends)}"
    limit = window.outdoor_below_f
    only = "" if limit is None else f" while it is under {limit:g} F outdoors"
    return f"{window.floor_f:g} F {hours}{only}"


def _clock(at: time | None) -> str:
    if at is None:
        return "midnight"
    return f"{at.hour % 12 or 12}:{at.minute:02d} {'am' if at.hour < 12 else 'pm'}"


def _day(month: int, day: int) -> str:
    return f"{day} {date(_A_YEAR, month, day):%B}"
