"""All evidence of a building as tables, for the posterior over what explains it.

Theory of operation
-------------------
Each home that can speak has one table: prior of its own faults, times what it reported or its silence,
its answers, its temperatures, and checks made in it. Checks of shared components weigh the shared states
directly, or, when a single complaint hangs on that component, the home's table (an end switch and a
relay coil then explain the same reading). Homes that are equal and said nothing are one table.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats
from rules.diagnosis.home import HomeBelief, believed
from rules.diagnosis.household import Answers
from rules.diagnosis.measuring import homes_touched
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import merged
from rules.diagnosis.space import Space
from rules.diagnosis.terms import (
    by_apartment,
    found_term,
    home_terms,
    reports,
    set_point,
    shared_term,
)
from rules.model import ApartmentId, ComponentId, Evidence, Found, Kind, Reported

__all__ = ["believe"]


def believe(
    space: Space, evidence: Sequence[Evidence], reachable: Iterable[ApartmentId], times: Timeline
) -> Belief:
    """Weigh all evidence of a building.

    Args:
        space: its possible states.
        evidence: facts; those about apartments that the plant does not have are ignored.
        reachable: homes whose silence means something.
        times: candidate onsets and now.
    """
    by_home = {a: said for a, said in by_apartment(evidence).items() if a in space.ordinary}
    placed, shared_terms, speaking = _place_findings(space, evidence, by_home)
    able = space.ordinary.keys() & reachable
    silent = able.difference(a for a, said in by_home.items() if reports(said))
    emptied = _where_tanks_are_empty(space, by_home)
    told = {
        apartment: _spoken(
            space,
            apartment,
            by_home.get(apartment, []),
            placed.get(apartment, []),
            times,
            silent=apartment in silent,
            tank_is_empty=apartment in emptied,
        )
        for apartment in by_home.keys() | placed
    }
    quiet = {
        ordinary: believed(ordinary.kind, ordinary.log_prior, times, [], None, None, silent=True)
        for ordinary in {space.ordinary[a] for a in silent.difference(told)}
    }
    homes = {
        apartment: told.get(apartment) or quiet[ordinary]
        for apartment, ordinary in space.ordinary.items()
        if apartment in told or apartment in silent
    }
    return Belief(space, times, homes, shared_terms, frozenset(speaking.values()))


def _spoken(
    space: Space,
    apartment: ApartmentId,
    said: Sequence[Evidence],
    found: Sequence[Evidence],
    times: Timeline,
    *,
    silent: bool,
    tank_is_empty: bool,
) -> HomeBelief:
    """A home that said something, or at which something was found; kept until it says more."""
    cold = any(Kind.TOO_COLD in report.kinds for report in reports(said))
    kind = space.home_class(apartment, set_point(said), beside=cold)
    prior = space.local_log_prior(apartment)

    def weigh() -> HomeBelief:
        answers = Answers.of(space, kind, said)
        measured = [
            found_term(space, kind, item.source, item.fact)
            for item in found
            if isinstance(item.fact, Found)
        ]
        own_words = home_terms(space, kind, said, times, answers, tank_is_empty=tank_is_empty)
        terms = [*own_words, *measured]
        return believed(kind, prior, times, terms, merged(reports(said)), answers, silent=silent)

    # Who has reported is not silent: to such a home "now" does not matter.
    when = times if silent else times.onsets
    name = (kind, prior.tobytes(), when, times.zone, tuple(said), tuple(found), tank_is_empty)
    return space.said(apartment).once(name, weigh)


def _where_tanks_are_empty(
    space: Space, by_home: Mapping[ApartmentId, Iterable[Evidence]]
) -> set[ApartmentId]:
    """Homes that tell of cold taps after another one of the same boilers has."""
    first = {
        home: min(item.at for item in told)
        for home, said in by_home.items()
        if (told := [item for item in said if _tells_of_cold_taps(item)])
    }
    known: set[ComponentId] = set()
    after: set[ApartmentId] = set()
    for home in sorted(first, key=lambda home: (first[home], home)):
        head = space.plant.head_of(space.plant.apartment(home).loop)
        if head in known:
            after.add(home)
        known.add(head)
    return after


def _tells_of_cold_taps(item: Evidence) -> bool:
    return isinstance(item.fact, Reported) and Kind.NO_HOT_WATER in item.fact.kinds


def _place_findings(
    space: Space, evidence: Iterable[Evidence], by_home: Mapping[ApartmentId, list[Evidence]]
) -> tuple[dict[ApartmentId, list[Evidence]], dict[str, Floats], dict[Found, tuple[int, ...]]]:
    """Which home each finding belongs to, or its weight on the shared states and who speaks for it."""
    placed: dict[ApartmentId, list[Evidence]] = {}
    shared: dict[str, Floats] = {}
    speaking: dict[Found, tuple[int, ...]] = {}
    findings = [e for e in evidence if isinstance(e.fact, Found)]
    for item in sorted(findings, key=lambda e: (e.at, e.source)):
        assert isinstance(item.fact, Found)  # noqa: S101 - only those were picked
        touched = homes_touched(space.plant, item.fact.component)
        complaining = [home for home in touched if reports(by_home.get(home, []))]
        if len(touched) == 1 or len(complaining) == 1:
            home = next(iter(touched if len(touched) == 1 else complaining))
            placed.setdefault(home, []).append(item)
        else:
            term, speaking[item.fact] = shared_term(space, item.fact)
            shared[item.source] = shared[item.source] + term if item.source in shared else term
    return placed, shared, speaking
