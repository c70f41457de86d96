"""All evidence of a building as tables, for the posterior over what explains it.

Theory of operation
-------------------
Each home that can speak has one table: prior of its own faults, times what it reported or its silence,
its answers, its temperatures, and checks made in it. Checks of shared components weigh the shared states
directly, or, when a single complaint hangs on that component, the home's table (an end switch and a
relay coil then explain the same reading). Homes that are equal and said nothing are one table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats
from rules.diagnosis.home import HomeBelief, believed
from rules.diagnosis.household import Answers
from rules.diagnosis.measuring import homes_touched
from rules.diagnosis.moment import Timeline
from rules.diagnosis.neighbors import neighbor_term, told_of_others
from rules.diagnosis.noticing import merged
from rules.diagnosis.runs_down import dry, runs_down
from rules.diagnosis.setting import wished_f
from rules.diagnosis.space import Space
from rules.diagnosis.tanks import NOTHING_TOLD, Tank, tanks_of
from rules.diagnosis.tanks import lasted as tank_lasted
from rules.diagnosis.terms import (
    by_apartment,
    found_term,
    home_terms,
    reports,
    shared_term,
)
from rules.model import ApartmentId, Evidence, Fact, Found, Kind

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
    heads, down = space.heads, runs_down(space.plant, by_home)
    tanks = tanks_of(heads, by_home)
    lasted = {
        head: tank_lasted(times, times.quiet_until, count, tanks.get(head, NOTHING_TOLD))
        if head in space.tanked
        else np.ones(len(times.onsets))
        for head, count in Counter(map(heads.__getitem__, silent)).items()
    }
    told = {
        apartment: _spoken(
            space,
            apartment,
            by_home.get(apartment, []),
            placed.get(apartment, []),
            times,
            lasted[heads[apartment]] if apartment in silent else None,
            tanks.get(heads[apartment], NOTHING_TOLD),
            from_above=apartment in down,
        )
        for apartment in by_home.keys() | placed
    }
    quiet = {
        ordinary: believed(ordinary.kind, ordinary.log_prior, times, [], None, None, lasted[head])
        for ordinary, head in {space.ordinary[a]: heads[a] for a in silent.difference(told)}.items()
    }
    homes = {
        apartment: told.get(apartment) or quiet[ordinary]
        for apartment, ordinary in space.ordinary.items()
        if apartment in told or apartment in silent
    }
    asked = frozenset(speaking.values())
    return Belief(space, times, homes, shared_terms, asked, tanks, down)


def _spoken(
    space: Space,
    apartment: ApartmentId,
    said: Sequence[Evidence],
    found: Sequence[Evidence],
    times: Timeline,
    lasted: Floats | None,
    tank: Tank,
    *,
    from_above: bool,
) -> HomeBelief:
    """A home that said something, or at which something was found; kept until it says more.

    ``lasted`` of one that could have written and did not is how long its tank did; ``tank`` is what
    was told of that. The water it told of came ``from_above``.
    """
    told = merged(reports(said))
    if from_above:
        said = dry(said)
    cold = any(Kind.TOO_COLD in report.kinds for report in reports(said))
    kind = space.home_class(apartment, wished_f(said), beside=cold)
    prior = space.local_log_prior(apartment)
    # What others tell of the tank later teaches nothing of what this home has said.
    tank = tank.until(said[-1].at) if said else NOTHING_TOLD

    def weigh() -> HomeBelief:
        answers = Answers.of(space, kind, said, tank)
        measured = [
            found_term(space, kind, item.source, item.fact)
            for item in found
            if isinstance(item.fact, Found)
        ]
        own_words = home_terms(space, kind, said, times, answers, tank)
        terms = [*own_words, *measured]
        return believed(kind, prior, times, terms, told, answers, lasted)

    # Who has reported is not silent: to such a home "now" does not matter.
    when = (times.onsets, times.known) if lasted is None else (times, lasted.tobytes())
    name = (kind, prior.tobytes(), when, times.zone, told, tuple(said), tuple(found), tank)
    return space.said(apartment).once(name, weigh)


def _place_findings(
    space: Space, evidence: Iterable[Evidence], by_home: Mapping[ApartmentId, list[Evidence]]
) -> tuple[dict[ApartmentId, list[Evidence]], dict[str, Floats], dict[Fact, tuple[int, ...]]]:
    """Which home each finding belongs to, or its weight on the shared states and who speaks for it.

    What one home says of another weighs the shared states too.
    """
    placed: dict[ApartmentId, list[Evidence]] = {}
    shared: dict[str, Floats] = {}
    speaking: dict[Fact, tuple[int, ...]] = {}
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
    for source, said in told_of_others(space, evidence):
        term, speaking[said] = neighbor_term(space, said)
        shared[source] = shared[source] + term if source in shared else term
    return placed, shared, speaking
