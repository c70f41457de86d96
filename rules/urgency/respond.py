"""By when somebody must act on a ticket, and why.

Theory of operation
-------------------
Every rule that applies sets a time of its own; the earliest wins, and all are kept, dangers first and
then the earliest, with their sources. There are three families:

1. Danger: at once.
2. The heat law: at once if a home reads under the floor that holds, else the minute at which the
   forecast passes the floor of that minute; some laws also say by when it must be put right, which is
   asked of a room under their floor, or that nobody has read. Where nobody has read a thermometer the
   forecast is a guess: somebody comes within hours, not at once. In the night a room that is slightly
   too cool waits until morning. A room over the ceiling is for the same day.
3. The house's own rows (``rules/data/urgency.yaml``): care, temperature, weather, number of homes.

A rule is asked of each report of the ticket, as it stood at each moment at which more was told
(``rules/urgency/stages.py``), and counts from the first that meets it: who reported days ago that 72 F
is chilly has not been without heat since. "At once" is the time at which that was told, or from which
on the law asks for it, not the time of looking, so a ticket looked at twice has the same time. Every
condition can only come to hold when a home gets colder, somebody to care for is added, a danger is
read or another home joins; so none of these ever makes the time later. Nothing here knows the
diagnosis: a hopeful suspicion cannot make a cold home wait. Only what visits have found, or not found,
makes a room within the law wait. Times are cut to the minute.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from rules.model import HourlyWeather, Kind
from rules.urgency.forecast import Forecast, Outdoors, first_below
from rules.urgency.heat_law import (
    LawText,
    floor_window,
    highest_floor_f,
    legal_floor_f,
    texts_in_force,
)
from rules.urgency.severity import Severity, severity
from rules.urgency.triggers import Facts, Report, danger_rows, night, triggers

__all__ = ["Because", "RespondBy", "respond_by"]

_CEILING_HOURS = 24  # over the legal ceiling: the same day; common practice, no source
# Thermometers show whole degrees: a home that read the floor has passed it for certain a degree later.
_A_DEGREE = 1.0
# As for any home without heat in the cold of which no more is known (common practice, no source).
_UNREAD_HOURS = 4
_AN_HOUR = timedelta(hours=1)  # laws change their floors on the hour


@dataclass(frozen=True, slots=True)
class Because:
    """One rule that set a time: in a plain sentence, with its source."""

    rule: str
    source: str
    at: datetime


@dataclass(frozen=True, slots=True)
class RespondBy:
    """The time, all rules that set one (dangers and earliest first), and how hard it is on people.

    Among tickets whose time has come, ``severity`` says which is worse; it is never shown.
    """

    at: datetime
    because: tuple[Because, ...]
    danger: bool
    severity: Severity = Severity.NONE


def respond_by(
    *,
    now: datetime,
    timezone: str,
    heat_rule: str | None,
    weather: Sequence[HourlyWeather],
    reports: Sequence[Report],
    shared: bool,
) -> RespondBy:
    """The earliest time any rule sets, with all of them.

    ``reports`` are those of the ticket, at least one; ``shared`` says that they have one cause.
    """
    outdoors, facts = Outdoors(weather), []
    homes: set[str] = set()
    for report in sorted(reports, key=lambda r: r.since):
        homes.update(r.home for r in reports if r.since <= report.since)
        seen = report.seen and _is_warm_enough(report, heat_rule)
        # Who has looked twice knows better than a forecast whether the heat works.
        told = replace(report, indoor=None, seen=True) if seen else replace(report, seen=False)
        facts.append(
            Facts(
                now=now.astimezone(UTC),
                timezone=timezone,
                heat_rule=heat_rule,
                outdoors=outdoors,
                told=told,
                homes=len(homes),
                shared=shared,
            )
        )
    dangers = [*_danger(facts)]
    rest = [*_floor(facts), *_ceiling(facts), *_house(facts)]
    # Whoever reads one line of a ticket reads of the danger, however long another home has been cold.
    first: dict[str, Because] = {}
    for each in (*sorted(dangers, key=_when), *sorted(rest, key=_when)):
        first.setdefault(each.rule, each)
    because = tuple(first.values())
    rung = max(severity(r.room_f, r.care) for r in reports)
    return RespondBy(min(map(_when, because)), because, any(r.danger for r in reports), rung)


def _when(because: Because) -> datetime:
    return because.at


def _because(rule: str, source: str, at: datetime) -> Because:
    return Because(rule, source, at.astimezone(UTC).replace(second=0, microsecond=0))


def _is_warm_enough(told: Report, heat_rule: str | None) -> bool:
    """Whether a thermometer is over every floor of the law; without a law, over what is for days."""
    floor = highest_floor_f(heat_rule) or night().mild_from_f
    return told.room_f is not None and told.room_f >= floor


def _danger(facts: Sequence[Facts]) -> Iterator[Because]:
    rows = danger_rows()
    first: dict[str, datetime] = {}
    for each in facts:
        for kind in each.told.danger:
            first[kind] = min(first.get(kind, each.since), each.since)
    for kind, since in first.items():
        row = rows.get(kind, rows["other"])
        yield _because(f"{row['says']}: danger to life, at once", row["source"], since)


def _floor(facts: Sequence[Facts]) -> Iterator[Because]:
    yield from _floor_broken(facts)
    for each in facts:
        yield from _floor_passed(each)
    due: dict[LawText, datetime] = {}
    for each in facts:
        for text in texts_in_force(each.heat_rule, _local(each, each.since).date()):
            if text.response_hours is not None and _law_covers(text, each):
                at = each.since + timedelta(hours=text.response_hours)
                due[text] = min(due.get(text, at), at)
    for text, at in due.items():
        yield _because(text.response_says, text.response_source, at)


def _local(facts: Facts, at: datetime) -> datetime:
    return at.astimezone(ZoneInfo(facts.timezone))


def _floor_at(facts: Facts, at: datetime) -> tuple[float, LawText] | None:
    local = _local(facts, at)
    texts = texts_in_force(facts.heat_rule, local.date())
    return floor_window(texts, local, facts.outdoors.at(at))


def _floor_broken(facts: Sequence[Facts]) -> Iterator[Because]:
    """One reason for all rooms under the law: the coldest, and when the first of them is due."""
    broken: list[tuple[float, float, LawText, datetime]] = []
    for each in facts:
        room_f = each.told.room_f
        if room_f is None or (at := _first_broken(each, room_f)) is None:
            continue
        floors = (_floor_at(each, at), _floor_at(each, each.now))
        broken += [
            (room_f, *floor, _by_day(each, at))
            for floor in floors
            if floor is not None and room_f < floor[0]
        ]
    if broken:
        room_f, floor_f, text, _ = min(broken, key=lambda b: (b[0], -b[1]))
        reads = f"A home reads {room_f:g} F, under the {floor_f:g} F of the heat law"
        yield _because(reads, text.cites, min(at for *_, at in broken))


def _first_broken(facts: Facts, room_f: float) -> datetime | None:
    """Since when a room is under a floor: as it was told, or from the hour from which one holds."""

    def is_under(at: datetime) -> bool:
        floor = _floor_at(facts, at)
        return floor is not None and room_f < floor[0]

    at = facts.since
    if is_under(at):
        return at
    if not is_under(facts.now):
        return None
    at = at.replace(minute=0, second=0, microsecond=0) + _AN_HOUR
    while at < facts.now and not is_under(at):
        at += _AN_HOUR
    return min(at, facts.now)


def _by_day(facts: Facts, at: datetime) -> datetime:
    """The morning, if it is night and the home is only slightly too cool for people who bear it."""
    told = facts.told
    is_mild = told.room_f is not None and told.room_f >= night().mild_from_f and not told.care
    return night().morning_of(at, facts.timezone) if is_mild else at


def _floor_passed(facts: Facts) -> Iterator[Because]:
    ahead, guessed = facts.told.indoor, facts.told.guessed
    if ahead is not None and (passed := _first_under(facts, ahead)) is not None:
        at, floor, text = passed
        rule = f"Forecast to pass the {floor:g} F of the heat law"
        yield _because(rule, text.cites, _night_passed(facts, ahead, at))
    if guessed is not None and (passed := _first_under(facts, guessed)) is not None:
        at, floor, text = passed
        likely = f"Likely to pass the {floor:g} F of the heat law; nobody has read a thermometer"
        yield _because(likely, text.cites, max(at, facts.since + timedelta(hours=_UNREAD_HOURS)))


def _night_passed(facts: Facts, ahead: Forecast, at: datetime) -> datetime:
    """The morning after a floor was passed by night, unless the room gets really cold before."""
    morning, limit = _by_day(facts, at), night().mild_from_f
    if morning == at:
        return at
    cold = first_below(ahead, lambda _at: limit, limit, morning)
    return morning if cold is None else max(at, cold)


def _first_under(facts: Facts, ahead: Forecast) -> tuple[datetime, float, LawText] | None:
    """When a forecast passes the floor that holds then, the floor, and where it is written."""
    highest = highest_floor_f(facts.heat_rule)
    if highest is None:
        return None

    told = facts.told.room_f

    def limit_f(at: datetime) -> float | None:
        floor = legal_floor_f(facts.heat_rule, at, facts.timezone, facts.outdoors.at(at))
        if floor is None or told is None or told < floor:
            return floor
        return min(floor, told - _A_DEGREE)

    at = first_below(ahead, limit_f, highest)
    passed = None if at is None else _floor_at(facts, at)
    return None if at is None or passed is None else (at, *passed)


def _law_covers(text: LawText, facts: Facts) -> bool:
    told = facts.told
    if Kind.NO_HOT_WATER in told.kinds:
        return True
    in_season = text.in_season(_local(facts, facts.since).date())
    cold = told.room_f is None or told.room_f < max(w.floor_f for w in text.windows)
    return Kind.TOO_COLD in told.kinds and in_season and cold


def _ceiling(facts: Sequence[Facts]) -> Iterator[Because]:
    over: dict[LawText, list[Facts]] = {}
    for each in facts:
        for text in texts_in_force(each.heat_rule, _local(each, each.now).date()):
            room_f = each.told.room_f
            if text.ceiling_f is not None and room_f is not None and room_f > text.ceiling_f:
                over.setdefault(text, []).append(each)
    for text, those in over.items():
        due = min(f.since for f in those) + timedelta(hours=_CEILING_HOURS)
        hottest = max(f.told.room_f or 0.0 for f in those)
        reads = f"A home reads {hottest:g} F, over the {text.ceiling_f:g} F limit"
        yield _because(reads, text.cites, due)


def _house(facts: Sequence[Facts]) -> Iterator[Because]:
    for row in triggers():
        # The first that meets it: they are in the order of time.
        since = next((each.since for each in facts if row.applies(each)), None)
        if since is not None:
            yield _because(row.says, row.source, since + timedelta(hours=row.hours))
