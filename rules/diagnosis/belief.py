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

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, Indices, normalised, over_states
from rules.diagnosis.home import SILENCE, HomeBelief, believed, summed_by
from rules.diagnosis.household import Answers
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.measuring import homes_touched
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import merged, silence_log_totals
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

# Homes that said something, with their tables: some two megabytes each.
_SPOKEN = Memo(48)


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    log_joint: Floats  # (onsets, shared states): of a state and all evidence, not normalised
    log_quiet: Floats  # what homes that could have written and did not add to it

    @property
    def log_prior(self) -> Floats:
        """Log P(onset, shared state) before any evidence; (onsets x shared states,)."""
        prior: Floats = np.log(self.times.chances)[:, None] + self.space.log_prior
        return prior.reshape(-1)

    @cached_property
    def states(self) -> Floats:
        """P(onset, shared state | evidence), shape (onsets x shared states,).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        return normalised(self.log_joint.reshape(-1))

    @property
    def by_onset(self) -> Floats:
        """The same as (onsets, shared states)."""
        return self.states.reshape(self.log_joint.shape)

    @property
    def prior(self) -> Floats:
        """P(shared state) before any evidence; the onset is independent of it then."""
        return self.space.states.prior

    @cached_property
    def shared(self) -> Floats:
        """P(shared state | evidence)."""
        total: Floats = self.by_onset.sum(axis=0)
        return total

    @cached_property
    def onsets(self) -> Floats:
        """P(onset | evidence)."""
        total: Floats = self.by_onset.sum(axis=1)
        return total

    @cached_property
    def unheard(self) -> Floats:
        """P(onset, shared state | all evidence but silence); (onsets, shared states)."""
        # What was said in homes that did not complain is tabled with their silence.
        spoken = [h.without_silence() for h in self.homes.values() if h.silent and h.said]
        joint = self.log_joint - self.log_quiet
        if spoken:
            joint += over_states(_totals(spoken), joint.shape)
        return normalised(joint.reshape(-1)).reshape(joint.shape)

    @cached_property
    def _by_row(self) -> dict[tuple[int, bool], Floats]:
        return {}

    @cached_property
    def _with_each(self) -> Floats:
        """P(onset, candidate is there | evidence); (onsets, candidates)."""
        return self.space.states.with_each(self.by_onset)

    @cached_property
    def _with_each_unheard(self) -> Floats:
        return self.space.states.with_each(self.unheard)

    def by_row(self, home: HomeBelief, *, unheard: bool = False) -> Floats:
        """P(onset, look | evidence) of a home, or all evidence but silence: (onsets, looks).

        A look of two faults is one state. Of one fault it is what is left of all states with that
        fault, so no sum over thousands of states is needed.
        """
        kind = home.kind
        name = (id(kind.look_of_state), unheard)
        if name not in self._by_row:
            states = self.unheard if unheard else self.by_onset
            with_each = self._with_each_unheard if unheard else self._with_each
            candidates, alone = kind.singles
            rows = states.take(kind.a_state, axis=1)
            rows[:, kind.nothing] = 0.0
            in_pairs = rows.take(kind.square, axis=1).sum(axis=1)
            rows[:, alone] = np.maximum(with_each[:, candidates] - in_pairs, 0.0)
            nothing = states.sum(axis=1) - rows.sum(axis=1)
            rows[:, kind.nothing] = np.maximum(nothing, 0.0)
            self._by_row[name] = rows
        return self._by_row[name]

    def by_key(self, apartment: ApartmentId) -> tuple[HomeBelief, Floats]:
        """A home, and P(onset, look key, own state | evidence) of it."""
        home = self.homes[apartment].opened
        weight = summed_by(home.keys.of_look, self.by_row(home), home.keys.shape[0])
        joint: Floats = home.own_given_key * weight[:, :, None]
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
    quiet: dict[Hashable, HomeBelief] = {}
    homes: dict[ApartmentId, HomeBelief] = {}
    for apartment in sorted({*by_home, *silent, *placed}):
        said, found = by_home.get(apartment, []), placed.get(apartment, [])
        if said or found:
            homes[apartment] = _spoken(
                space, apartment, said, found, times, silent=apartment in silent
            )
            continue
        kind, prior = space.home_class(apartment), space.local_log_prior(apartment)
        key = (id(kind), id(prior))
        if key not in quiet:
            quiet[key] = believed(kind, prior, times, [], None, None, silent=True)
        homes[apartment] = quiet[key]
    shape = (len(times.onsets), len(space.log_prior))
    log_quiet = over_states(
        [
            *_quiet_totals([h for h in homes.values() if h.silent and not h.said], times),
            *_totals([h for h in homes.values() if h.silent and h.said]),
        ],
        shape,
    )
    joint = log_quiet + space.log_prior
    joint += over_states(_totals([h for h in homes.values() if not h.silent]), shape)
    joint += np.log(times.chances)[:, None]
    for term in shared_terms.values():
        joint += term
    return Belief(space, times, homes, shared_terms, joint, log_quiet)


def _spoken(
    space: Space,
    apartment: ApartmentId,
    said: Sequence[Evidence],
    found: Sequence[Evidence],
    times: Timeline,
    *,
    silent: bool,
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
        terms = [*home_terms(space, kind, said, times, answers), *measured]
        return believed(kind, prior, times, terms, merged(reports(said)), answers, silent=silent)

    # Who has reported is not silent: to such a home "now" does not matter.
    when = times if silent else times.onsets
    name = (kind, prior.tobytes(), when, times.zone, tuple(said), tuple(found))
    return _SPOKEN.once(name, weigh)


def _totals(homes: Iterable[HomeBelief]) -> list[tuple[Indices, Floats]]:
    return [(home.kind.look_of_state, home.log_total) for home in homes]


def _quiet_totals(homes: Iterable[HomeBelief], times: Timeline) -> list[tuple[Indices, Floats]]:
    """The silence of all homes that have nothing else to say, summed by class."""
    by_kind: dict[HomeClass, dict[int, tuple[Floats, int]]] = {}
    for home in homes:
        priors = by_kind.setdefault(home.kind, {})
        prior, count = priors.get(id(home.log_prior), (home.log_prior, 0))
        priors[id(home.log_prior)] = (prior, count + 1)
    found = []
    for kind, priors in by_kind.items():
        log_totals = silence_log_totals(kind, np.stack([p for p, _ in priors.values()]), times)
        counts = np.array([float(count) for _, count in priors.values()])
        found.append((kind.look_of_state, np.einsum("h,hnl->nl", counts, log_totals)))
    return found


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
            term = shared_term(space, item.fact)
            shared[item.source] = shared[item.source] + term if item.source in shared else term
    return placed, shared
