"""The truck's pages from frozen views: the day, and a ticket to carry without signal."""

from __future__ import annotations

from dataclasses import replace

from service.pages.rendering import local_date, render, ticket_context
from service.pages.truck.load_words import at_once, used_at
from service.usecases.rows.views import TicketView
from service.usecases.showing.truck_day import DayView

__all__ = ["render_carried", "render_day"]


def render_day(view: DayView) -> str:
    """The stops in order and the load of the day."""
    zone = next((row.timezone for stop in view.stops for row in stop.rows), "UTC")
    today = local_date(view.now, zone)
    return render(
        "truck/templates/day.html",
        view=view,
        door="truck",
        timezone=zone,
        today=today,
        used_at=used_at,
        at_once=at_once,
    )


def render_carried(view: TicketView) -> str:
    """A ticket as a phone keeps it: without what people wrote, and without names."""
    bare = _without_people(view)
    return render(
        "truck/templates/ticket.html",
        **ticket_context(bare, "truck"),
        problem=None,
        kept={},
        target="",
        today=local_date(bare.now, bare.row.timezone),
        carried=True,
    )


def _without_people(view: TicketView) -> TicketView:
    """Messages, histories, photos and who has the ticket stay at the office."""
    return replace(
        view,
        row=replace(view.row, assigned_to=None, hold_reason=None),
        why=(),
        history=(),
        photos=(),
        complaints=(),
        others=(),
        acts=(),
        turns=(),
        to_confirm=(),
        closed_out=None,
        respond_by_reason=None,
        respond_by_name=None,
    )
