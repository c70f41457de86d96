"""By when somebody must act on a ticket, and why.

Theory of operation
-------------------
Every rule that applies sets a time of its own; the earliest wins, and all are kept, earliest
first, with their sources. There are three families:

1. Danger: at once.
2. The heat law: at once if a home reads under the floor that holds, else the minute at which the
   forecast passes the floor of that minute; some laws also say by when it must be put right. Where
   nobody has read a thermometer the forecast is a guess: somebody comes within hours, not at once. A
   room over the ceiling is for the same day.
3. The house's own rows (``rules/data/urgency.yaml``): care, temperature, weather, number of homes.

"At once" is the time the complaint was opened, not the time of looking, so a ticket looked at
twice has the same time. Every condition can only come to hold when a home gets colder, somebody to
care for is added, a danger is read or another home joins; so none of these ever makes the time
later. Nothing here knows the diagnosis: a hopeful suspicion cannot make a cold home wait. Times
are cut to the minute.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from rules.model import Care, HourlyWeather, Kind
from rules.urgency.forecast import Forecast, Outdoors, first_below
from rules.urgency.heat_law import (
    LawText,
    floor_window,
    highest_floor_f,
    legal_floor_f,
    texts_in_force,
)
from rules.urgency.severity import Severity, severity
from rules.urgency.triggers import Facts, danger_rows, triggers

__all__ = ["Because", "RespondBy", "respond_by"]

_CEILING_HOURS = 24  # over the legal ceiling: the same day; common practice, no source
# As for any home without heat in the cold of which no more is known (common practice, no source).
_UNREAD_HOURS = 4


@dataclass(frozen=True, slots=True)
class Because:
    """One rule that set a time: in a plain sentence, with its source."""

    rule: str
    source: str
    at: datetime


@dataclass(frozen=True, slots=True)
class RespondBy:
    """The time, all rules that set one (earliest first), and how hard it is on people.

    Among tickets whose time has come, ``severity`` says which is worse; it is never shown.
    """

    at: datetime
    because: tuple[Because, ...]
    danger: bool
    severity: Severity = Severity.NONE


def respond_by(  # noqa: PLR0913  all that a time depends on, by name
    *,
    now: datetime,
    opened_at: datetime,
    timezone: str,
    heat_rule: str | None,
    weather: Sequence[HourlyWeather],
    kinds: frozenset[Kind],
    danger: tuple[str, ...],
    care: frozenset[Care],
    lowest_room_f: float | None,
    highest_room_f: float | None,
    homes: int,
    shared: bool,
    indoor: Forecast | None,
    guessed: Forecast | None = None,
    answered: frozenset[tuple[str, str]] = frozenset(),
) -> RespondBy:
    """The earliest time any rule sets, with all of them.

    ``indoor`` is the forecast of the homes that told a temperature, ``guessed`` of those that did not;
    ``answered`` holds what they told besides, as topic and choice.
    """
    facts = Facts(
        now=now.astimezone(UTC),
        opened_at=opened_at.astimezone(UTC),
        timezone=timezone,
        heat_rule=heat_rule,
        outdoors=Outdoors(weather),
        kinds=kinds,
        danger=danger,
        care=care,
        lowest_room_f=lowest_room_f,
        highest_room_f=highest_room_f,
        homes=homes,
        shared=shared,
        indoor=indoor,
        guessed=guessed,
        answered=answered,
    )
    found = [*_danger(facts), *_floor(facts), *_ceiling(facts), *_house(facts)]
    because = tuple(sorted(found, key=lambda b: b.at))
    rung = severity(lowest_room_f=lowest_room_f, highest_room_f=highest_room_f, care=care)
    return RespondBy(because[0].at, because, bool(danger), rung)


def _because(rule: str, source: str, at: datetime) -> Because:
    return Because(rule, source, at.astimezone(UTC).replace(second=0, microsecond=0))


def _danger(facts: Facts) -> Iterator[Because]:
    rows = danger_rows()
    for kind in dict.fromkeys(facts.danger):
        row = rows.get(kind, rows["other"])
        yield _because(f"{row['says']}: danger to life, at once", row["source"], facts.since)


def _floor(facts: Facts) -> Iterator[Because]:
    broken = _floor_broken(facts)
    if broken is not None:
        floor, text = broken
        reads = f"A home reads {facts.lowest_room_f:g} F, under the {floor:g} F of the heat law"
        yield _because(reads, text.cites, facts.since)
    yield from _floor_passed(facts)
    for text in texts_in_force(facts.heat_rule, _local(facts, facts.since).date()):
        if text.response_hours is not None and _law_covers(text, facts):
            due = facts.since + timedelta(hours=text.response_hours)
            yield _because(text.response_says, text.response_source, due)


def _local(facts: Facts, at: datetime) -> datetime:
    return at.astimezone(ZoneInfo(facts.timezone))


def _floor_at(facts: Facts, at: datetime) -> tuple[float, LawText] | None:
    local = _local(facts, at)
    texts = texts_in_force(facts.heat_rule, local.date())
    return floor_window(texts, local, facts.outdoors.at(at))


def _floor_broken(facts: Facts) -> tuple[float, LawText] | None:
    if facts.lowest_room_f is None:
        return None
    floors = [_floor_at(facts, at) for at in (facts.since, facts.now)]
    broken = [floor for floor in floors if floor is not None and facts.lowest_room_f < floor[0]]
    return max(broken, key=lambda floor: floor[0], default=None)


def _floor_passed(facts: Facts) -> Iterator[Because]:
    if facts.indoor is not None and (passed := _first_under(facts, facts.indoor)) is not None:
        at, floor, text = passed
        yield _because(f"Forecast to pass the {floor:g} F of the heat law", text.cites, at)
    if facts.guessed is not None and (passed := _first_under(facts, facts.guessed)) is not None:
        at, floor, text = passed
        likely = f"Likely to pass the {floor:g} F of the heat law; nobody has read a thermometer"
        yield _because(likely, text.cites, max(at, facts.since + timedelta(hours=_UNREAD_HOURS)))


def _first_under(facts: Facts, ahead: Forecast) -> tuple[datetime, float, LawText] | None:
    """When a forecast passes the floor that holds then, the floor, and where it is written."""
    highest = highest_floor_f(facts.heat_rule)
    if highest is None:
        return None

    def limit_f(at: datetime) -> float | None:
        return legal_floor_f(facts.heat_rule, at, facts.timezone, facts.outdoors.at(at))

    at = first_below(ahead, limit_f, highest)
    passed = None if at is None else _floor_at(facts, at)
    return None if at is None or passed is None else (at, *passed)


def _law_covers(text: LawText, facts: Facts) -> bool:
    if Kind.NO_HOT_WATER in facts.kinds:
        return True
    return Kind.TOO_COLD in facts.kinds and text.in_season(_local(facts, facts.since).date())


def _ceiling(facts: Facts) -> Iterator[Because]:
    for text in texts_in_force(facts.heat_rule, _local(facts, facts.now).date()):
        over = (
            text.ceiling_f is not None
            and facts.highest_room_f is not None
            and facts.highest_room_f > text.ceiling_f
        )
        if over:
            due = facts.since + timedelta(hours=_CEILING_HOURS)
            reads = f"A home reads {facts.highest_room_f:g} F, over the {text.ceiling_f:g} F limit"
            yield _because(reads, text.cites, due)


def _house(facts: Facts) -> Iterator[Because]:
    for row in triggers():
        if row.applies(facts):
            yield _because(row.says, row.source, facts.since + timedelta(hours=row.hours))
