"""From frozen views to HTML: one Jinja environment that escapes everything and forgives nothing."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any, Literal
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.pages import names, times, words
from service.pages.drawing import STATE_LEGEND, STATE_WORDS, building_svg
from service.pages.evidence import first_words, sorted_evidence
from service.pages.repairs.askable import askable
from service.pages.statics import asset_url, inline_style
from service.pages.suspects import by_part, fault_words
from service.pages.truck.modules import shell_url
from service.pages.why_words import why_words
from service.usecases.rows.ids import reference
from service.usecases.rows.views import TicketView
from service.usecases.showing.check_words import words_of_checks
from service.usecases.showing.outcome_words import OUTCOME_WORDS, outcome_words
from service.usecases.showing.truck_checks import (
    ALL_UNITS,
    check_nothing,
    check_probes,
    check_ranges,
    check_units,
)

__all__ = [
    "Door",
    "FormProblem",
    "render",
    "render_in_parts",
    "render_problem",
    "render_ticket",
    "ticket_context",
]

Door = Literal["desk", "truck", "owner", "admin"]

_INDENT = re.compile(r"(?m)^[ \t]+")
# Pieces of text between two holes of a template: at first the head of the queue, which
# is then on the screen while the rows are made, some forty at a time.
_ITEMS_AT_FIRST, _ITEMS_A_PART = 200, 2500


@dataclass(frozen=True, slots=True)
class FormProblem:
    """What was wrong with a sent form, and what was typed, so that nothing is typed twice."""

    field_id: str
    message: str
    kept: dict[str, str] = field(default_factory=dict)


class _Unindented(FileSystemLoader):
    """Templates whose lines begin with one space at most: an eighth of a long page is indentation.

    One is left because it may be what parts two words: the end of a line goes where a block ends.
    """

    def get_source(
        self, environment: Environment, template: str
    ) -> tuple[str, str, Callable[[], bool]]:
        source, name, is_fresh = super().get_source(environment, template)
        return _INDENT.sub(" ", source), name, is_fresh


@cache
def _environment() -> Environment:
    env = Environment(
        loader=_Unindented(str(files("service.pages"))),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=words.clean,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters.update(
        alert=words.alert_words,
        capital=words.capital,
        clock=times.clock_words,
        component=names.component,
        date=times.date_words,
        dated=times.dated_words,
        due=times.due_words,
        fault=fault_words,
        homes=words.homes_words,
        kinds=words.kind_words,
        lang_of=words.quote_language,
        meanwhile=words.meanwhile_words,
        nothing=check_nothing,
        outcome=outcome_words,
        per_cent=words.per_cent,
        place=words.place_words,
        probes=check_probes,
        ranges=check_ranges,
        reach=names.reach,
        reference=reference,
        report_end=words.report_end_words,
        language=words.language_words,
        lasted=times.lasted_words,
        since=times.since_words,
        sureness=words.sureness,
        suspected=names.suspected,
        talk=words.talk_words,
        tell_lines=words.tell_lines,
        unit=words.unit_words,
        units=check_units,
        weight=words.weight_words,
        when=times.when_words,
        with_times=times.with_times,
        why=why_words,
        years=times.years_words,
    )
    env.globals.update(
        asset=asset_url,
        check_words=_check_words(),
        shell=shell_url,
        state_legend=STATE_LEGEND,
        state_words=STATE_WORDS,
        style=inline_style,
    )
    return env


def _check_words() -> dict[str, dict[str, str]]:
    """Words of units and places, for checks that a phone works out by itself."""
    places = ("apartment", "boiler_room", "outside")
    return {
        "unitWords": {unit: words.unit_words(unit) for unit in ALL_UNITS},
        "outcomeWords": dict(OUTCOME_WORDS),
        "checkWords": words_of_checks(),
        "places": {place: words.place_words(place) for place in places},
    }


def render(template: str, **context: Any) -> str:
    """A page from its template. ``door`` is always set; None means nobody is signed in."""
    return _environment().get_template(template).render(**{"door": None, **context})


def render_in_parts(template: str, **context: Any) -> Iterator[str]:
    """The same page as it is made, for long ones: its head is on the screen before its end is there.

    An error in the middle can only cut the page off, so this is for pages of frozen views alone.
    """
    stream = _environment().get_template(template).stream(**{"door": None, **context})
    stream.enable_buffering(_ITEMS_AT_FIRST)
    yield next(stream)
    stream.enable_buffering(_ITEMS_A_PART)
    yield from stream


def local_date(at: datetime, timezone: str) -> str:
    """The calendar date in the building, as a date field wants it."""
    return at.astimezone(ZoneInfo(timezone)).date().isoformat()


def render_ticket(view: TicketView, door: Door, problem: FormProblem | None = None) -> str:
    """A ticket as the truck sees it, with its forms."""
    return render(
        f"{door}/templates/ticket.html",
        **ticket_context(view, door),
        problem=problem,
        kept=problem.kept if problem else {},
        target=_target(view, problem),
        today=local_date(view.now, view.row.timezone),
    )


def ticket_context(
    view: TicketView, door: Door, leads: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """What the templates in ``frame/templates/ticket`` need; ``leads`` are links of the drawing."""
    marks = view.drawing.apartments
    explains = view.suspects[0].explains if view.suspects else ()
    explains += tuple(mark.apartment for mark in marks if mark.state == "predicted")
    drawn = building_svg(view.drawing, explains, leads)
    return {
        "view": view,
        "row": view.row,
        "now": view.now,
        "timezone": view.row.timezone,
        "door": door,
        "fault_words": {suspect.fault: suspect.says for suspect in view.suspects},
        "drawing": Markup(drawn),  # noqa: S704 - drawing.py escapes
        "evidence": sorted_evidence(view.why),
        "first_words": first_words(view.why, view.row.homes),
        "shown_states": _shown_states(view),
        "suspected": by_part(view.suspects),
        "turns": askable(view.turns, at_the_valve=door == "truck"),
    }


def _target(view: TicketView, problem: FormProblem | None) -> str:
    """The id of the field that a form problem is about."""
    if problem is None or problem.field_id != "value":
        return problem.field_id if problem else ""
    asked = (problem.kept.get("test"), problem.kept.get("component"))
    for number, check in enumerate(view.checks, start=1):
        if (check.check, check.component) == asked:
            return f"value-{number}"
    return "checks"


def _shown_states(view: TicketView) -> tuple[str, ...]:
    """The states of apartments that occur in this drawing, in the order of the legend."""
    present = {mark.state for mark in view.drawing.apartments}
    return tuple(state for state in STATE_WORDS if state in present)


def render_problem(
    status: int, title: str, message: str, door: Door | None = None, to: str = ""
) -> str:
    """A page for a request that could not be answered; ``to`` is where signing in may lead."""
    return render(
        "frame/templates/problem.html",
        status=status,
        title=title,
        message=message,
        door=door,
        to=to,
    )
