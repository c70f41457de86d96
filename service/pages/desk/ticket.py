"""The desk's page of a ticket: what there is to see, and the forms of what can be done."""

from __future__ import annotations

import secrets
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from markupsafe import Markup

from service.auth.who import Who
from service.pages.desk.folds import weighed_words, work_words
from service.pages.desk.forms import ActProblem
from service.pages.desk.ready_words import READY_WORDS
from service.pages.desk.said import said_by_homes
from service.pages.evidence import evidence_by_suspect
from service.pages.plot import forecast_svg, forecast_words, outdoor_words, table_hours
from service.pages.rendering import render, ticket_context
from service.usecases.rows.act_views import ActLine
from service.usecases.showing.open_desk import DeskTicket

__all__ = ["render_desk_ticket"]

# What a ticket most often waits for; common practice, no source.
HOLD_REASONS = (
    "Goes with the next visit to this building",
    "Waits for a part",
    "Waits for access to the home",
    "Waits for the owner's decision",
    "Waits for another trade",
)
MORNING = time(8)


def render_desk_ticket(
    page: DeskTicket, who: Who, *, problem: ActProblem | None = None, done: str = ""
) -> str:
    """The whole page; ``done``: an act has led here.

    "last" says that no other ticket waits for one, "undone" that an act was taken back.
    """
    view = page.view
    forecast = page.forecast
    weighed = evidence_by_suspect(view.why, view.suspects)
    return render(
        "desk/templates/ticket.html",
        **ticket_context(view, "desk", leads=_leads(page)),
        page=page,
        who=who,
        act_problem=problem,
        typed=problem.kept if problem else {},
        last_act=_newest(view.acts, done) if done else _last(view.acts),
        left_act=_last(page.left.acts) if page.left else None,
        done=done,
        said=said_by_homes(page),
        ready_words=READY_WORDS,
        forecast=forecast,
        plot=Markup(forecast_svg(forecast, view.now)) if forecast else "",  # noqa: S704 - escapes
        forecast_says=forecast_words(forecast, view.now) if forecast else "",
        outdoors=outdoor_words(forecast) if forecast else "",
        forecast_hours=table_hours(forecast) if forecast else (),
        may_join=() if view.row.danger else tuple(o for o in view.others if not o.danger),
        in_danger=view.row.danger and view.closed_at is None,
        by_suspect=weighed,
        weighed_words=weighed_words(view, weighed),
        work_words=work_words(view),
        hold_reasons=HOLD_REASONS,
        tomorrow=_tomorrow(view.now, view.row.timezone),
        due_field=_field(max(view.row.respond_by, view.now), view.row.timezone),
        once=secrets.token_urlsafe(12),
    )


def _leads(page: DeskTicket) -> dict[str, str]:
    """Where a press on the drawing leads: to talk, to another ticket, to a component's page."""
    drawing = page.view.drawing
    leads = {str(c.apartment): f"#{c.complaint}" for c in page.view.complaints if c.apartment}
    leads |= {m.apartment: f"/desk/tickets/{m.ticket}" for m in drawing.apartments if m.ticket}
    parts = [part for loop in drawing.loops for part in loop if part]
    parts += [*drawing.transformers, *(m.pump for m in drawing.apartments if m.pump)]
    return leads | {part: f"/plant/{drawing.building}/{part}" for part in parts}


def _last(acts: tuple[ActLine, ...]) -> ActLine | None:
    """The newest act of a person that stands and can be taken back."""
    return next((a for a in acts if a.can_undo and a.undone_at is None and not a.automatic), None)


def _newest(acts: tuple[ActLine, ...], done: str) -> ActLine | None:
    """The act of a person that has led here, whether it can be taken back or not."""
    persons = [act for act in acts if not act.automatic]
    if done != "undone":
        return next((act for act in persons if act.undone_at is None), None)
    undone = [act for act in persons if act.undone_at is not None]
    return max(undone, key=lambda act: (act.undone_at or act.at, act.act), default=None)


def _field(at: datetime, timezone: str) -> str:
    """An instant as a field for date and time wants it, in the building's zone."""
    return at.astimezone(ZoneInfo(timezone)).strftime("%Y-%m-%dT%H:%M")


def _tomorrow(now: datetime, timezone: str) -> str:
    day = now.astimezone(ZoneInfo(timezone)).date() + timedelta(days=1)
    return datetime.combine(day, MORNING).strftime("%Y-%m-%dT%H:%M")
