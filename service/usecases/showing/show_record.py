"""How often we were right: what was stated before any reading, held against what was found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.faults.telling import told_name
from service.store.tables import Closure, ClosureDetail, TicketEvent

__all__ = ["Band", "Record", "show_record"]

EDGES = (0.0, 0.1, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True)
class Band:
    """Suspects stated within a range: how many, what the statements add up to, how many it was."""

    low: float
    high: float
    suspects: int
    expected: float
    found: int


@dataclass(frozen=True, slots=True)
class Record:
    """The record of all closings with a named cause."""

    closings: int
    right: int  # the first suspect was the cause
    same_part: int  # another fault of the suspected component
    elsewhere: int
    named: int  # the cause was among the suspects at all
    expected_right: float  # what the first suspects' probabilities add up to
    unnamed: int  # closed without a named cause; not in the figures above
    bands: tuple[Band, ...]
    confirmed: int  # households that said next morning that it is right
    reopened: int  # and those that said it is not


def show_record(session: Session) -> Record:
    """What was stated and what it turned out to be, in all closed tickets."""
    rows = [
        (detail, closure)
        for detail, closure in session.execute(
            select(ClosureDetail, Closure).join(Closure, Closure.id == ClosureDetail.closure_id)
        )
    ]
    judged = [(d, c) for d, c in rows if c.fault is not None and d.first]
    verdicts = [d.verdict for d, _ in judged]
    pairs = [pair for d, c in judged for pair in _pairs(d, c)]
    events: dict[str, int] = dict(
        session.execute(
            select(TicketEvent.what, func.count())
            .where(TicketEvent.what.in_(("confirmed", "reopened")))
            .group_by(TicketEvent.what)
        ).all()
    )
    return Record(
        closings=len(judged),
        right=verdicts.count("right"),
        same_part=verdicts.count("same_part"),
        elsewhere=verdicts.count("elsewhere"),
        named=sum(found for _, found in pairs),
        expected_right=sum(float(d.first[0]["probability"]) for d, _ in judged),
        unnamed=len(rows) - len(judged),
        bands=_bands(pairs),
        confirmed=events.get("confirmed", 0),
        reopened=events.get("reopened", 0),
    )


def _pairs(detail: ClosureDetail, closure: Closure) -> Iterable[tuple[float, bool]]:
    """Each suspect's probability, and whether it was the cause."""
    cause = (told_name(closure.fault or ""), closure.component)
    for suspect in detail.first:
        was_it = (suspect["fault"], suspect["component"]) == cause
        yield float(suspect["probability"]), was_it


def _bands(pairs: Sequence[tuple[float, bool]]) -> tuple[Band, ...]:
    bands = []
    for low, high in pairwise(EDGES):
        here = [(p, found) for p, found in pairs if low <= p < high or p == high == 1.0]
        bands.append(
            Band(low, high, len(here), sum(p for p, _ in here), sum(found for _, found in here))
        )
    return tuple(bands)
