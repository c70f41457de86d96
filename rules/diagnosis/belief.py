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
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, HomeTable, Indices, log_joint, normalised
from rules.diagnosis.measuring import homes_touched
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import merged, silence_log_likelihood, silence_log_total
from rules.diagnosis.space import HomeClass, Space
from rules.diagnosis.terms import (
    by_apartment,
    found_term,
    home_terms,
    reports,
    set_point,
    shared_term,
    stack_onsets,
)
from rules.model import ApartmentId, Evidence, Found, Reported

__all__ = ["SILENCE", "Belief", "HomeBelief", "believe"]

SILENCE = "silence"


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """What one home (or several that are equal in all) said: log likelihoods by source.

    Term arrays are over (onsets x looks, own states).
    """

    kind: HomeClass
    log_prior: Floats  # (own states,)
    terms: Mapping[str, Floats]
    reported: Reported | None
    look: Indices  # (onsets x shared states,): row of the table
    silent_since: Timeline | None  # set if the silence of this home means something

    @property
    def sources(self) -> frozenset[str]:
        """Where what is known of this home comes from."""
        return frozenset(self.terms) | ({SILENCE} if self.silent_since else frozenset())

    @cached_property
    def log_likelihood(self) -> Floats:
        """All this home said or did not say, without the prior."""
        total = np.zeros((int(self.look.max()) + 1, len(self.log_prior)))
        for term in self.terms.values():
            total += term
        if self.silent_since is not None:
            times = self.silent_since
            total += stack_onsets(times, lambda o: silence_log_likelihood(self.kind, o, times))
        return total

    @cached_property
    def table(self) -> HomeTable:
        """Prior times likelihood of all sources."""
        return HomeTable(self.log_likelihood + self.log_prior, self.look)

    @cached_property
    def log_total(self) -> Floats:
        """Log probability of all sources, by row; quick for a home that is only silent."""
        times = self.silent_since
        if times is None or self.terms:
            return self.table.log_total
        return stack_onsets(times, lambda o: silence_log_total(self.kind, self.log_prior, o, times))

    def without(self, source: str) -> HomeBelief:
        """The same home had this source not been there."""
        terms = {s: t for s, t in self.terms.items() if s != source}
        since = None if source == SILENCE else self.silent_since
        return HomeBelief(self.kind, self.log_prior, terms, self.reported, self.look, since)


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    log_prior: Floats  # (onsets x shared states,), before any evidence
    log_joint: Floats  # the same after all evidence, not normalised

    @cached_property
    def states(self) -> Floats:
        """P(onset, shared state | evidence), shape (onsets x shared states,).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        return normalised(self.log_joint)

    @cached_property
    def prior(self) -> Floats:
        """P(onset, shared state) before any evidence."""
        return normalised(self.log_prior)

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

    def without(self, source: str) -> Belief:
        """The belief had this message, this finding, or the silence, not been there."""
        joint = self.log_joint
        if source in self.shared_terms:
            joint = joint - np.tile(self.shared_terms[source], len(self.times.onsets))
        fewer: dict[int, HomeBelief] = {}
        homes: dict[ApartmentId, HomeBelief] = {}
        change: dict[int, tuple[Indices, Floats]] = {}
        for apartment, home in self.homes.items():
            if source not in home.sources:
                homes[apartment] = home
                continue
            less = homes[apartment] = fewer.setdefault(id(home), home.without(source))
            index, so_far = change.get(id(home.look), (home.look, np.zeros(len(home.log_total))))
            difference = less.log_total - home.log_total
            change[id(home.look)] = (index, so_far + difference)
        for index, difference in change.values():
            joint = joint + difference[index]
        return replace(self, homes=homes, log_joint=joint)

    def by_look(self, apartment: ApartmentId) -> Floats:
        """P(onset, look, own state | evidence) of one home: (onsets x looks, own states)."""
        home = self.homes[apartment]
        rows = len(home.table.log_joint)
        weight = np.bincount(home.look, self.states, minlength=rows)
        joint: Floats = home.table.own_given_look * weight[:, None]
        return joint


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
    looks: dict[int, Indices] = {}
    quiet: dict[object, HomeBelief] = {}
    homes: dict[ApartmentId, HomeBelief] = {}
    for apartment in sorted({*by_home, *silent, *placed}):
        said, found = by_home.get(apartment, []), placed.get(apartment, [])
        kind = space.home_class(apartment, set_point(said))
        prior = space.local_log_prior(apartment)
        if id(kind) not in looks:
            looks[id(kind)] = _flat_look(kind, len(times.onsets))
        look = looks[id(kind)]
        key = None if said or found else (id(kind), prior.tobytes())
        if key is not None and key in quiet:
            homes[apartment] = quiet[key]
            continue
        terms = home_terms(space, kind, said, times)
        for item in found:
            assert isinstance(item.fact, Found)  # noqa: S101 - only findings are placed
            term = np.tile(found_term(space, kind, item.fact), (len(times.onsets), 1))
            terms[item.source] = terms.get(item.source, np.zeros_like(term)) + term
        since = times if apartment in silent else None
        homes[apartment] = HomeBelief(kind, prior, terms, merged(reports(said)), look, since)
        if key is not None:
            quiet[key] = homes[apartment]
    log_prior = np.concatenate([space.log_prior + np.log(o.chance) for o in times.onsets])
    weighed = log_prior + np.tile(
        sum(shared_terms.values(), np.zeros(len(space.log_prior))), len(times.onsets)
    )
    joint = log_joint(weighed, homes.values())
    return Belief(space, times, homes, shared_terms, log_prior, joint)


def _flat_look(kind: HomeClass, onsets: int) -> Indices:
    """Row of the table for every (onset, shared state)."""
    looks = len(kind.looks)
    return np.concatenate([kind.look_of_state + n * looks for n in range(onsets)])


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
