"""A tank of hot water that outlasts its boiler: taps run cold after the fault, all of them at once.

Theory of operation
-------------------
A tank is empty when more was drawn since the onset than it held, which nobody knows. Homes draw in
the morning and in the evening, so a boiler that dies at bedtime leaves hot water until the showers, one
that dies before them does not. Until then its homes have nothing to tell of their taps, and their
silence about them says nothing.

All homes of a tank have the same store: what one of them told of its tap, and when, says how much
it held, and so whether the next finds it empty. A second telling teaches little but who errs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache, lru_cache
from math import log
from zoneinfo import ZoneInfo

import numpy as np

from rules.data import table
from rules.diagnosis.draws import gone, hour_of, waking_hours
from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Onset, Timeline
from rules.faults.sources import COLD_FROM_A_TANK
from rules.heat.columns import column
from rules.model import Answered, ApartmentId, ComponentId, Evidence, Kind, Reported

__all__ = ["NOTHING_TOLD", "Tank", "has_tank", "lasted", "outlasts", "tanks_of"]

# What a tank may have held, each as the share of tanks that hold less.
_STORES = (np.arange(10) + 0.5) / 10
_LEAST = 1e-300
_Told = tuple[datetime, str, float]  # when, source, how much likelier it is of an empty tank


@dataclass(frozen=True, slots=True)
class Tank:
    """What the homes of one tank told of their taps, in the order of time."""

    told: tuple[_Told, ...] = ()

    def until(self, last: datetime) -> Tank:
        """What was told by then."""
        return Tank(tuple(item for item in self.told if item[0] <= last))

    def empty(self, times: Timeline, at: datetime, source: str | None = None) -> Floats:
        """Chance that it is empty then, by each onset, if its boiler died then; (onsets,).

        From what was told before, or before a certain source of that moment.
        """
        last = (at, "\U0010ffff" if source is None else source)
        before = tuple(item for item in self.told if item[:2] < last)
        return _empty(before, times.onsets, at, times.zone)


NOTHING_TOLD = Tank()


def tanks_of(
    heads: Mapping[ApartmentId, ComponentId], by_home: Mapping[ApartmentId, Iterable[Evidence]]
) -> dict[ComponentId, Tank]:
    """What was told of the tank that hangs on each boiler or cascade from whose homes somebody wrote."""
    told: dict[ComponentId, list[_Told]] = {}
    for home, said in by_home.items():
        of_head = told.setdefault(heads[home], [])
        for item in _said_once(said):
            if (times := _likelier_if_empty(item)) is not None:
                of_head.append((item.at, item.source, times))
    return {head: Tank(tuple(sorted(items))) for head, items in told.items()}


def outlasts(home: HomeClass) -> Floats:
    """1 in looks with a boiler out whose tank still gives hot water for a while; (looks,).

    A boiler is nobody's own.
    """
    return home.of_rows("tap late", lambda rows: column(rows, "tap_late"))[0]


def has_tank(home: HomeClass) -> bool:
    """Whether there is such a look."""
    return home.once("has tank", lambda: bool(outlasts(home).any()))


def lasted(
    times: Timeline, until: datetime, homes: float = 0.0, tank: Tank = NOTHING_TOLD
) -> Floats:
    """The share of the waking time since each onset in which a tank gave hot water; (onsets,).

    In the mean over what it may have held, or as so many silent homes count it together: where it held
    out till now, all of them had nothing to tell.
    """
    return _lasted(tank.told, times.onsets, until, times.zone, homes)


@lru_cache(maxsize=64)
def _lasted(
    told: tuple[_Told, ...],
    onsets: tuple[Onset, ...],
    until: datetime,
    zone: ZoneInfo,
    homes: float,
) -> Floats:
    hour = hour_of(until, zone)
    total, empty = waking_hours(
        hour, np.array([hour - onset.hours(until) for onset in onsets]), _STORES
    )
    weight, total = _weight_of_stores(told, onsets, zone), np.maximum(total, 1e-6)
    if not homes:
        return np.asarray(1 - (weight * empty).sum(axis=1) / total[:, 0])
    each = homes * _tellings_an_hour()
    silent = (weight * np.exp(-each * empty)).sum(axis=1)
    return np.asarray(1 + np.log(np.maximum(silent, _LEAST)) / (each * total[:, 0]))


@lru_cache(maxsize=64)
def _weight_of_stores(told: tuple[_Told, ...], onsets: tuple[Onset, ...], zone: ZoneInfo) -> Floats:
    """How likely a tank held each store, by what was told; (onsets, stores)."""
    weight = np.full((len(onsets), len(_STORES)), 1 / len(_STORES))
    if told:
        is_empty = np.array(_gone_by(told, onsets, zone))[:, :, None] >= _STORES
        likelier = np.array([[times] for *_, times in told])
        weight *= np.where(is_empty, likelier, 1.0).prod(axis=1)
        weight /= weight.sum(axis=1, keepdims=True)
    return weight


@cache
def _tellings_an_hour() -> float:
    """How often a home whose tap is cold or lukewarm says so within a waking hour."""
    about = table("reporting")
    spoken = about["tap_spoken_of"]
    tells = _if_empty(float(spoken["cold"]), float(spoken["lukewarm"]))
    a_day = -log(1 - tells) * (1 - float(about["never_writes"]))
    return a_day / float(about["waking_hours_a_day"])


@lru_cache(maxsize=256)
def _empty(
    told: tuple[_Told, ...], onsets: tuple[Onset, ...], at: datetime, zone: ZoneInfo
) -> Floats:
    """The store is as likely anything; each fact weighs those that were drawn by then."""
    # A handful of numbers: lists are quicker than arrays.
    hour, found = hour_of(at, zone), list[float]()
    for onset, by_then in zip(onsets, _gone_by(told, onsets, zone), strict=True):
        empty, weight, before = 0.0, 1.0, gone(hour, hour - onset.hours(at))
        holds = 1 - before
        # Facts in the order of time: of a store that was empty by one, all that followed were told.
        for (*_, likelier), then in zip(reversed(told), reversed(by_then), strict=True):
            empty += weight * max(before - then, 0.0)
            weight, before = weight * likelier, min(then, before)
        empty += weight * before
        found.append(empty / max(empty + holds, _LEAST))
    return np.array(found)


@lru_cache(maxsize=64)
def _gone_by(
    told: tuple[_Told, ...], onsets: tuple[Onset, ...], zone: ZoneInfo
) -> list[list[float]]:
    """Chance that a tank was empty when each fact was told, nothing told; (onsets, facts)."""
    begun = [hour_of(onset.at, zone) for onset in onsets]
    return [
        [gone(hour + onset.hours(at), hour) for at, *_ in told]
        for onset, hour in zip(onsets, begun, strict=True)
    ]


def _said_once(said: Iterable[Evidence]) -> Iterable[Evidence]:
    """What one home told of its taps: its first report, or the one that names them, and each answer."""
    reported: dict[bool, Evidence] = {}
    answered: dict[str, Evidence] = {}
    for item in said:
        if isinstance(item.fact, Reported):
            reported.setdefault(Kind.NO_HOT_WATER in item.fact.kinds, item)
        elif isinstance(item.fact, Answered) and item.fact.topic == "q_dhw":
            answered.setdefault(item.fact.means, item)
    named = reported.get(True, reported.get(False))
    return [*([named] if named is not None else []), *answered.values()]


def _likelier_if_empty(item: Evidence) -> float | None:
    """How much likelier a home says this if its tank is empty than if it is not; None if alike."""
    about = table("reporting")
    if isinstance(item.fact, Reported) and item.fact.kinds != {Kind.OTHER}:
        spoken, none = about["tap_spoken_of"], float(about["without_cause"]["no_hot_water"])
        tells = _if_empty(float(spoken["cold"]), float(spoken["lukewarm"]))
        if Kind.NO_HOT_WATER in item.fact.kinds:
            return (tells + none) / none
        return 1 - tells * (1 - float(about["leaves_out"]))
    return _answered(item.fact.means) if isinstance(item.fact, Answered) else None


@cache
def _answered(means: str) -> float | None:
    about, careless = table("answers")["q_dhw"], table("answers")["careless"]
    if means not in about["fine"]:
        return None
    slip = float(careless["share"]) * float(careless["drawn"])
    empty = _if_empty(float(about["cold"][means]), float(about["lukewarm"][means]))
    empty, fine = (
        (1 - slip) * chance + slip / len(about["fine"])
        for chance in (empty, float(about["fine"][means]))
    )
    return empty / fine


def _if_empty(cold: float, lukewarm: float) -> float:
    return COLD_FROM_A_TANK * cold + (1 - COLD_FROM_A_TANK) * lukewarm
