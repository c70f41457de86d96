"""All evidence of a building as tables, and the exact posterior over what explains it.

Theory of operation
-------------------
A state is an onset together with a shared state. Each home that can speak has one table: prior of its
own faults, times what it reported or its silence, its answers, its temperatures, and checks made in it.
Checks of shared components weigh the shared states directly, or, when a single complaint hangs on that
component, the home's table (an end switch and a relay coil then explain the same reading). Homes with
the same table (silent ones of a class) are computed once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, gathered, log_joint, normalised
from rules.diagnosis.home import SILENCE, HomeBelief, believed
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
from rules.model import ApartmentId, Evidence, Found, Kind

__all__ = ["SILENCE", "Belief", "HomeBelief", "believe"]


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    log_prior: Floats  # (onsets x shared states,), before any evidence
    log_joint: Floats  # the same after all evidence, not normalised
    log_quiet: Floats  # what homes that could have written and did not add to it

    @cached_property
    def states(self) -> Floats:
        """P(onset, shared state | evidence), shape (onsets x shared states,).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        return normalised(self.log_joint)

    @cached_property
    def prior(self) -> Floats:
        """P(shared state) before any evidence; the onset is independent of it then."""
        return normalised(self.space.log_prior)

    @cached_property
    def shared(self) -> Floats:
        """P(shared state | evidence)."""
        total: Floats = self.states.reshape(len(self.times.onsets), -1).sum(axis=0)
        return total

    @cached_property
    def onsets(self) -> Floats:
        """P(onset | evidence)."""
        total: Floats = self.states.reshape(len(self.times.onsets), -1).sum(axis=1)
        return total

    @cached_property
    def unheard(self) -> Floats:
        """P(onset, shared state | all evidence but silence)."""
        # What was said in homes that did not complain is tabled with their silence.
        spoken = [h.without(SILENCE) for h in self.homes.values() if h.silent and h.said]
        return normalised(log_joint(self.log_joint - self.log_quiet, spoken))

    @cached_property
    def _by_row(self) -> dict[int, Floats]:
        return {}

    def by_row(self, home: HomeBelief) -> Floats:
        """P(onset, look | evidence) of a home: (onsets, looks)."""
        known, rows = self._by_row, len(self.times.onsets) * home.kind.shape[0]
        if id(home.look) not in known:
            known[id(home.look)] = gathered(home.look, self.states, rows)
        return known[id(home.look)].reshape(len(self.times.onsets), -1)

    def by_key(self, apartment: ApartmentId) -> tuple[HomeBelief, Floats]:
        """A home, and P(onset, look key, own state | evidence) of it."""
        home = self.homes[apartment].opened
        keys = home.keys.shape[0]
        weight = [gathered(home.keys.of_look, row, keys) for row in self.by_row(home)]
        joint: Floats = home.own_given_key * np.stack(weight)[:, :, None]
        return home, joint


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
    known = {a.id for a in space.plant.apartments}
    by_home = {a: said for a, said in by_apartment(evidence).items() if a in known}
    silent = {a for a in set(reachable) & known if not reports(by_home.get(a, []))}
    placed, shared_terms = _place_findings(space, evidence, by_home)
    alike: dict[object, HomeBelief] = {}
    homes: dict[ApartmentId, HomeBelief] = {}
    for apartment in sorted({*by_home, *silent, *placed}):
        said, found = by_home.get(apartment, []), placed.get(apartment, [])
        cold = any(Kind.TOO_COLD in report.kinds for report in reports(said))
        kind = space.home_class(apartment, set_point(said), beside=cold)
        prior = space.local_log_prior(apartment)
        key = None if said or found else (id(kind), prior.tobytes())
        if key is not None and key in alike:
            homes[apartment] = alike[key]
            continue
        answers = Answers.of(space, kind, said)
        measured = [
            found_term(space, kind, item.source, item.fact)
            for item in found
            if isinstance(item.fact, Found)
        ]
        homes[apartment] = believed(
            kind,
            prior,
            times,
            [*home_terms(space, kind, said, times, answers), *measured],
            merged(reports(said)),
            answers,
            silent=apartment in silent,
        )
        if key is not None:
            alike[key] = homes[apartment]
    log_prior = np.concatenate([space.log_prior + np.log(o.chance) for o in times.onsets])
    weighed = log_prior
    if shared_terms:
        weighed = weighed + np.tile(sum(shared_terms.values()), len(times.onsets))
    quiet = log_joint(np.zeros(len(log_prior)), [h for h in homes.values() if h.silent])
    joint = log_joint(weighed + quiet, [h for h in homes.values() if not h.silent])
    return Belief(space, times, homes, shared_terms, log_prior, joint, quiet)


def _place_findings(
    space: Space, evidence: Iterable[Evidence], by_home: Mapping[ApartmentId, list[Evidence]]
) -> tuple[dict[ApartmentId, list[Evidence]], dict[str, Floats]]:
    """Which home each finding belongs to, or its weight on the shared states."""
    placed: dict[ApartmentId, list[Evidence]] = {}
    shared: dict[str, Floats] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source)):
        if not isinstance(item.fact, Found):
            continue
        touched = homes_touched(space.plant, item.fact.component)
        complaining = [home for home in touched if reports(by_home.get(home, []))]
        if len(touched) == 1 or len(complaining) == 1:
            home = next(iter(touched if len(touched) == 1 else complaining))
            placed.setdefault(home, []).append(item)
        else:
            term = shared_term(space, item.fact, touched)
            shared[item.source] = shared[item.source] + term if item.source in shared else term
    return placed, shared
