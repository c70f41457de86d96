"""The queue page and the pieces of it that a page asks for when something has changed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import Depends

from service.pages.desk.sketch import sketches
from service.pages.rendering import render, render_in_parts
from service.pages.times import zones_words
from service.pages.words import kind_words
from service.usecases.desk.find_ended import EndedTicket
from service.usecases.rows.views import AlertLine, QueueRow, QueueView
from service.usecases.showing.find_homes import FoundHome
from service.usecases.showing.sketch_buildings import Lying

__all__ = [
    "NOBODY",
    "Filters",
    "Shown",
    "place_of",
    "queue_context",
    "render_queue_page",
    "render_rows",
]

NOBODY = "-"  # the choice of tickets that nobody has taken
UNFOLDED_ALERTS = 3
MOST_LETTERS = 80  # of what is looked for


@dataclass(frozen=True, slots=True)
class Filters:
    """Which part of the queue is shown; stands in the address."""

    building: str = ""
    who: str = ""  # a name, NOBODY, or empty for all
    find: str = ""  # beginnings of words: a home, a street, a ticket's short form, a complaint

    def lets_in(self, row: QueueRow) -> bool:
        """Whether a row belongs to the part that is shown."""
        if self.building and row.building != self.building:
            return False
        if self.who and self.who != (row.assigned_to or NOBODY):
            return False
        wanted = _words(self.find)
        there = _words_of(row) if wanted else ()
        return all(any(word.startswith(begun) for word in there) for begun in wanted)

    @property
    def query(self) -> str:
        """As the query of an address, with its question mark; empty when all is shown."""
        given = {"building": self.building, "who": self.who, "find": self.find}
        said = urlencode({name: value for name, value in given.items() if value})
        return f"?{said}" if said else ""


def _asked(building: str = "", who: str = "", find: str = "") -> Filters:
    return Filters(building, who, find.strip()[:MOST_LETTERS])


Shown = Annotated[Filters, Depends(_asked)]


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _words_of(row: QueueRow) -> list[str]:
    """What somebody on the telephone may name of a ticket."""
    said = (row.reference, row.building_name, *row.homes, kind_words(row.kinds))
    return _words(" ".join(said))


def place_of(row: QueueRow) -> str:
    """A text by which rows sort as the queue does."""
    first = f"{0 if row.danger else 1}{1 if row.held_until else 0}"
    return f"{first} {row.respond_by.isoformat()} {row.opened_at.isoformat()} {row.ticket}"


def queue_context(
    view: QueueView, filters: Filters, layouts: dict[str, tuple[Lying, ...]], stamp: str
) -> dict[str, Any]:
    """What the templates of the queue need."""
    rows = tuple(row for row in view.rows if filters.lets_in(row))
    names = {row.building: row.building_name for row in view.rows if row.building}
    alerts = sorted(view.alerts, key=lambda alert: not alert.danger)
    return {
        "view": view,
        "rows": rows,
        "filters": filters,
        "buildings": sorted(names.items(), key=lambda pair: (pair[1].casefold(), pair[0])),
        "people": sorted({row.assigned_to for row in view.rows if row.assigned_to}),
        "nobody": NOBODY,
        "sketches": sketches(layouts),
        "stamp": stamp,
        "timezone": view.timezone,
        "zone_words": zones_words([view.timezone, *(row.timezone for row in view.rows)]),
        "alerts": _folded(tuple(alerts)),
        "late": sum(row.respond_by < view.now for row in rows),
        "held": sum(row.held_until is not None for row in rows),
        "place_of": place_of,
        "door": "desk",
    }


def _folded(alerts: tuple[AlertLine, ...]) -> tuple[tuple[AlertLine, ...], tuple[AlertLine, ...]]:
    """The alerts that are shown at once (all dangers, and a few more), and the rest."""
    dangers = sum(alert.danger for alert in alerts)
    shown = max(dangers, UNFOLDED_ALERTS)
    if len(alerts) == shown + 1:  # to fold one line saves none
        shown += 1
    return alerts[:shown], alerts[shown:]


def render_queue_page(
    view: QueueView,
    filters: Filters,
    layouts: dict[str, tuple[Lying, ...]],
    stamp: str,
    ended: tuple[EndedTicket, ...] = (),
    homes: tuple[FoundHome, ...] = (),
) -> Iterator[str]:
    """The whole page, part by part.

    ``ended`` are tickets that were looked for and are not open, ``homes`` the homes that fit.
    """
    context = {**queue_context(view, filters, layouts, stamp), "ended": ended}
    shown = {row.ticket for row in context["rows"]}
    context["homes"] = tuple(home for home in homes if home.ticket not in shown)
    return render_in_parts("desk/templates/queue.html", **context)


def render_rows(
    view: QueueView, filters: Filters, layouts: dict[str, tuple[Lying, ...]], stamp: str
) -> str:
    """Some rows, the alerts and the counts, for a page that is open already."""
    return render("desk/templates/rows.html", **queue_context(view, filters, layouts, stamp))
