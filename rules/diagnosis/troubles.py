"""Which complaints of a building are one trouble, and which are of another that began later.

Theory of operation
-------------------
All that a belief explains began before its first report. A report that stays open for a week would so
date every later trouble back a week, for which the silence of everybody else speaks against it. So
reports are taken in waves, one after a gap. Each wave is weighed as a trouble of its own, with a
beginning of its own, against one with the troubles before it: whichever makes all that was said likelier
holds. A slow trouble of which homes write one by one stays one; a single home of a wave may belong to
the older trouble that starves it; and who has complained before and tells something new within the wave
belongs to that, if it fits better there. In between two troubles nothing is shared: homes that complain
of the older one neither speak nor are silent about the newer.

What was measured does not decide this: complaints do not change their place while somebody measures.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from math import inf, log

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.measuring import homes_touched
from rules.diagnosis.moment import is_gap, timeline
from rules.diagnosis.noticing import merged
from rules.diagnosis.space import Space
from rules.diagnosis.terms import by_apartment, reports
from rules.diagnosis.weighing import believe
from rules.model import Answered, ApartmentId, Evidence, Found, Reported, RoomRead, Visited

__all__ = ["Trouble", "troubles_of"]

_Said = tuple[Evidence, ...]
# Where one fault would explain homes of two waves, one trouble is likelier from the start than two at a
# time: three to one (common practice, no source).
_PROBABLE, _ONE_TROUBLE = 0.5, log(3)
_MOST_AT_ONCE = 3


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is weighed together: who complains of it, what was told, whose silence counts until when."""

    homes: frozenset[ApartmentId]
    evidence: tuple[Evidence, ...]
    reachable: frozenset[ApartmentId]
    quiet_until: datetime | None = None  # None: until now


@dataclass(frozen=True, slots=True)
class _Part:
    """One trouble on the way: what each of its homes told of it."""

    begun: datetime  # its first report
    told: Mapping[ApartmentId, _Said]

    def without(self, home: ApartmentId) -> _Part:
        return replace(self, told={h: said for h, said in self.told.items() if h != home})

    def having(self, told: Mapping[ApartmentId, _Said]) -> _Part:
        return replace(self, told={**self.told, **told})


def troubles_of(
    space: Space, evidence: Sequence[Evidence], reachable: Iterable[ApartmentId], timezone: str
) -> tuple[Trouble, ...]:
    """The troubles of a building, in the order in which they were reported first; one at least."""
    homes, able = by_apartment(evidence), frozenset(reachable)
    complaining = {
        h: tuple(said) for h, said in homes.items() if h in space.ordinary and reports(said)
    }
    waves = _waves(complaining)
    if len(waves) < 2:
        return (Trouble(frozenset(complaining), tuple(evidence), able),)
    parts = _Sorting(space, able, timezone).sorted(waves)
    return tuple(_made(space, evidence, able, parts, complaining))


def _waves(complaining: Mapping[ApartmentId, _Said]) -> list[_Part]:
    """Homes by their first reports, those after a gap apart."""
    first = {h: _first_report(said) for h, said in complaining.items()}
    ordered = sorted(first, key=lambda h: (first[h], h))
    waves: list[list[ApartmentId]] = [ordered[:1]]
    for before, home in pairwise(ordered):
        if is_gap(first[before], first[home]):
            waves.append([])
        waves[-1].append(home)
    return [_Part(first[w[0]], {h: complaining[h] for h in w}) for w in waves if w]


def _first_report(said: Iterable[Evidence]) -> datetime:
    return min(e.at for e in said if isinstance(e.fact, Reported))


@dataclass(frozen=True, slots=True)
class _Weight:
    """How likely is what was told of a trouble, and each shared fault then; (candidates,)."""

    log: float
    there: Floats


@dataclass(frozen=True)
class _Sorting:
    """Waves on the way to troubles."""

    space: Space
    able: frozenset[ApartmentId]
    timezone: str

    def sorted(self, waves: Sequence[_Part]) -> list[_Part]:
        """The troubles, oldest first."""
        parts = [waves[0]]
        for wave in waves[1:]:
            joined = self._joined(parts, wave)
            parts = joined if joined is not None else self._apart(parts, wave)
        return parts

    def _joined(self, parts: Sequence[_Part], wave: _Part) -> list[_Part] | None:
        """With the wave as a part of the older trouble that it fits best, if it fits one.

        What homes wrote of one by one may be seen to be one trouble only now.
        """
        best, found = 0.0, None
        for n, part in enumerate(parts):
            others = [p for k, p in enumerate(parts) if k != n]
            gain = self._gain(part, others, wave, wave.told)
            if gain > best:
                best, found = gain, [p.having(wave.told) if p is part else p for p in parts]
        apart, whole, last = self._log(wave, parts), wave, len(parts) - 1
        for n in range(last, max(-1, last - _MOST_AT_ONCE), -1):
            apart += self._log(parts[n], parts[:n], wave if n == last else parts[n + 1])
            whole = parts[n].having(whole.told)
            gain = self._log(whole, parts[:n]) - apart
            gain += (len(parts) - n) * self._tie(whole, parts[:n], wave.told)
            if gain > best:
                best, found = gain, [*parts[:n], whole]
        return found

    def _apart(self, parts: Sequence[_Part], wave: _Part) -> list[_Part]:
        """With the wave as a trouble of its own, each of its homes and of the others' looked at."""
        parts = [*parts]
        for n in range(len(parts)):
            others = [p for k, p in enumerate(parts) if k != n]
            for home in [*wave.told]:
                alone = {home: wave.told[home]}
                if len(wave.told) > 1 and self._gain(parts[n], others, wave, alone) > 0:
                    parts[n], wave = parts[n].having(alone), wave.without(home)
            for home, said in [*parts[n].told.items()]:
                came = self._come(parts[n], others, wave, home, said)
                if came is not None:
                    parts[n], wave = parts[n].without(home), came
        return [part for part in (*parts, wave) if part.told]

    def _come(
        self, part: _Part, others: Sequence[_Part], wave: _Part, home: ApartmentId, said: _Said
    ) -> _Part | None:
        """The wave with what a home of an older trouble told since, if that fits better there."""
        early, late = (
            tuple(e for e in said if (e.at >= wave.begun) is since) for since in (False, True)
        )
        if not reports(early) or not any(isinstance(e.fact, Reported) or _is_room(e) for e in late):
            return None
        came = wave.having({home: _told_again(early, late)})
        left = part.having({home: _not_told_anew(early, late)})
        stay = self._log(part, others, wave) + self._log(wave, [*others, part])
        stay += log(float(table("reporting")["writes_again_a_day"]))
        move = self._log(left, others, came) + self._log(came, [*others, left])
        return came if move > stay else None

    def _gain(
        self,
        part: _Part,
        others: Sequence[_Part],
        wave: _Part,
        told: Mapping[ApartmentId, _Said],
    ) -> float:
        """Log of how much likelier all is if some homes of a wave belong to an older trouble."""
        if len(told) < len(wave.told) and not self._reach(part, others, wave, told) > _PROBABLE:
            return -inf
        left = replace(wave, told={h: said for h, said in wave.told.items() if h not in told})
        with_it = part.having(told)
        one = self._log(with_it, others, left if left.told else None)
        one += self._tie(with_it, others, told)
        if left.told:
            one += self._log(left, [*others, with_it])
        return one - self._log(part, others, wave) - self._log(wave, [*others, part])

    def _reach(
        self, part: _Part, others: Sequence[_Part], wave: _Part, told: Collection[ApartmentId]
    ) -> float:
        """Chance that a shared fault of an older trouble reaches one of these homes of a wave."""
        there = self._weight(part, others, wave).there
        reaching = (n for n, c in enumerate(self.space.shared) if not c.homes.isdisjoint(told))
        return sum(float(there[n]) for n in reaching)

    def _tie(self, whole: _Part, others: Sequence[_Part], told: Collection[ApartmentId]) -> float:
        """What speaks for one trouble beforehand, if one fault reaches these homes and the others."""
        there, before = self._weight(whole, others, None).there, whole.told.keys() - set(told)
        both = (
            float(there[n])
            for n, c in enumerate(self.space.shared)
            if not c.homes.isdisjoint(told) and not c.homes.isdisjoint(before)
        )
        return _ONE_TROUBLE if sum(both) > _PROBABLE else 0.0

    def _log(self, part: _Part, others: Iterable[_Part], later: _Part | None = None) -> float:
        return self._weight(part, others, later).log

    def _weight(self, part: _Part, others: Iterable[_Part], later: _Part | None) -> _Weight:
        """Of what was told of one trouble, beside others, before a ``later`` one."""
        said = tuple(e for home in sorted(part.told) for e in part.told[home])
        heard = {home for other in others if other.begun < part.begun for home in other.told}
        able = self.able.difference(heard - part.told.keys())
        until = max(e.at for e in said) if later is None else later.begun
        name = ("trouble", said, able, until, self.timezone)

        def weigh() -> _Weight:
            times = timeline(said, until, self.timezone)
            chances = believe(self.space, said, able, times).chances
            return _Weight(chances.log_total, chances.with_each.sum(axis=0))

        return self.space.weighed.once(name, weigh)


def _is_room(item: Evidence) -> bool:
    return isinstance(item.fact, RoomRead) and item.fact.room_f is not None


def _told_again(early: _Said, late: _Said) -> _Said:
    """What a home told later, as a complaint of its own: of what it complained of before, if need be."""
    visits = tuple(e for e in early if isinstance(e.fact, Visited))
    complaint = merged(reports(early))
    if reports(late) or complaint is None:
        return (*visits, *late)
    return (*visits, Evidence(late[0].source, late[0].at, complaint), *late)


def _not_told_anew(early: _Said, late: _Said) -> _Said:
    """What a home told early, without what it told anew later: of that only the last word counts."""
    topics = {e.fact.topic for e in late if isinstance(e.fact, Answered)}
    room = any(_is_room(e) for e in late)
    return tuple(
        e
        for e in early
        if not (room and _is_room(e))
        and not (isinstance(e.fact, Answered) and e.fact.topic in topics)
    )


def _made(
    space: Space,
    evidence: Sequence[Evidence],
    able: frozenset[ApartmentId],
    parts: Sequence[_Part],
    complaining: Mapping[ApartmentId, _Said],
) -> Iterable[Trouble]:
    """The troubles with all that bears on them."""
    plant, heard = space.plant, set[ApartmentId]()
    parts = sorted(parts, key=lambda part: part.begun)
    for n, part in enumerate(parts):
        after = parts[n + 1].begun if n + 1 < len(parts) else None
        told = [e for said in part.told.values() for e in said]
        for item in evidence:
            if isinstance(item.fact, Found):
                touched = homes_touched(plant, item.fact.component)
                whose = [k for k, p in enumerate(parts) if not touched.isdisjoint(p.told)]
                if n in whose or (not whose and after is None):
                    told.append(item)
            elif item.fact.apartment not in complaining and (
                (n == 0 or item.at >= part.begun) and (after is None or item.at < after)
            ):
                told.append(item)
        yield Trouble(frozenset(part.told), tuple(told), able - heard, after)
        heard |= part.told.keys()
