"""The owner's record that the heat law was kept: as a page, and as a table to take away."""

from __future__ import annotations

from datetime import date
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of
from service.pages.owner.law_words import law_words
from service.pages.rendering import render
from service.pages.tables import Cell, csv_answer, local_cell
from service.usecases.showing.show_heat_record import (
    HeatLine,
    HeatRecord,
    Period,
    show_heat_record,
)

__all__ = ["router"]

HEAD = (
    "apartment",
    "told_at",
    "room_f",
    "source",
    "came_at_if_late",
    "outdoor_f",
    "legal_minimum_f",
    "under_by_f",
    "law",
    "ticket",
    "first_act_at",
    "first_act",
    "report_ended_at",
    "report_ended",
    "taken_back_at",
    "message",
)

router = APIRouter(
    prefix="/owner/buildings/{building}/heat",
    route_class=PageRoute,
    include_in_schema=False,
    dependencies=[Depends(require(Role.OWNER))],
)


Day = Annotated[str, Query(max_length=10)]


def _record(request: Request, building: str, first: str, last: str) -> HeatRecord:
    services = services_of(request)
    period = Period(_day(first), _day(last))
    with services.db.reading() as session:
        return show_heat_record(session, services.now(), building, period)


def _day(text: str) -> date | None:
    """A day as a field for dates sends it; what is none limits nothing."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


@router.get("", response_class=HTMLResponse)
def page(request: Request, building: str, first: Day = "", last: Day = "") -> str:
    """The record of some days, or of all, newest first."""
    view = _record(request, building, first, last)
    days = {"first": view.period.first, "last": view.period.last}
    return render(
        "owner/templates/heat.html",
        view=view,
        timezone=view.timezone,
        laws=[(law, law_words(law)) for law in view.laws],
        query=urlencode({name: day.isoformat() for name, day in days.items() if day is not None}),
        door="owner",
    )


@router.get("/table.csv")
def table(request: Request, building: str, first: Day = "", last: Day = "") -> Response:
    """The same, oldest first, one line a temperature."""
    view = _record(request, building, first, last)
    rows = (_cells(line, view.timezone) for line in reversed(view.lines))
    return csv_answer(f"heat-{view.building}.csv", HEAD, rows)


def _cells(line: HeatLine, timezone: str) -> tuple[Cell, ...]:
    return (
        line.apartment,
        local_cell(line.at, timezone),
        round(line.room_f, 1),
        line.source,
        local_cell(line.came_at, timezone),
        line.outdoor_f,
        line.floor_f,
        round(line.short_f, 1) if line.floor_f is not None else None,
        line.law,
        line.reference,
        local_cell(line.acted_at, timezone),
        line.acted,
        local_cell(line.ended_at, timezone),
        line.ended,
        local_cell(line.taken_back_at, timezone),
        line.message,
    )
