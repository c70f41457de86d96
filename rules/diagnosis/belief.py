"""All evidence of a building as tables, and the exact posterior over what explains it.

Theory of operation
-------------------
Each home that can speak gets one table: prior of its own faults, times what it reported or its silence,
its answers, its temperatures, and checks made in it. Checks of shared components weigh the shared
states directly, or, when a single complaint hangs on that component, the home's table (an end switch
and a relay coil then explain the same reading). Terms are kept apart per source, so that "what if this
message had not come" is one subtraction.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from rules.diagnosis.answers import answer_chances
from rules.diagnosis.exact import Floats, HomeTable, Posterior, infer, log_sum_exp
from rules.diagnosis.measuring import chance, homes_touched, speaks_for
from rules.diagnosis.noticing import (
    merged,
    report_log_likelihood,
    room_log_likelihood,
    silence_log_likelihood,
)
from rules.diagnosis.space import HomeClass, Space
from rules.model import Answered, ApartmentId, Evidence, Found, Reported, RoomRead

__all__ = ["SILENCE", "Belief", "HomeBelief", "believe"]

SILENCE = "silence"


@dataclass(frozen=True, eq=False)
class HomeBelief:
    """One home: its class, log prior of its own states, and log likelihoods by source."""

    apartment: ApartmentId
    kind: HomeClass
    log_prior: Floats  # (own states,)
    terms: Mapping[str, Floats]  # source -> (looks, own states)
    reported: Reported | None

    def table(self, without: frozenset[str] = frozenset()) -> HomeTable:
        """The home's table, leaving some sources out."""
        shape = (len(self.kind.looks), len(self.log_prior))
        total = np.broadcast_to(self.log_prior, shape).copy()
        for source, term in self.terms.items():
            if source not in without:
                total += term
        return HomeTable(total, self.kind.look_of_state)

    @cached_property
    def log_likelihood(self) -> Floats:
        """Everything this home said, without the prior; (looks, own states)."""
        return self.table().log_joint - self.log_prior


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    posterior: Posterior

    def without(self, sources: frozenset[str]) -> Belief:
        """The belief had these messages, findings or the silence not been there."""
        return replace(
            self, posterior=_posterior(self.space, self.homes, self.shared_terms, sources)
        )

    def by_look(self, apartment: ApartmentId, without: frozenset[str] = frozenset()) -> Floats:
        """P(look, own state | evidence) of one home, shape (looks, own states)."""
        home = self.homes[apartment]
        rows = home.table(without).log_joint
        weight = np.bincount(
            home.kind.look_of_state, self.posterior.shared, minlength=len(home.kind.looks)
        )
        joint: Floats = np.exp(rows - log_sum_exp(rows)[:, None]) * weight[:, None]
        return joint


def believe(
    space: Space,
    evidence: Sequence[Evidence],
    reachable: Iterable[ApartmentId],
    awake_hours: float,
) -> Belief:
    """Weigh all evidence of a building.

    Args:
        space: its possible states.
        evidence: facts; those about apartments that the plant does not have are ignored.
        reachable: homes whose silence means something.
        awake_hours: waking hours since the first report.
    """
    known = {a.id for a in space.plant.apartments}
    by_home: dict[ApartmentId, list[Evidence]] = {}
    findings: list[Evidence] = []
    for item in sorted(evidence, key=lambda e: (e.at, e.source, repr(e.fact))):
        if isinstance(item.fact, Found):
            findings.append(item)
        elif item.fact.apartment in known:
            by_home.setdefault(item.fact.apartment, []).append(item)
    silent = [a for a in sorted(set(reachable) & known) if not _reports(by_home.get(a, []))]
    placed, shared_terms = _place_findings(space, findings, by_home)
    homes: dict[ApartmentId, HomeBelief] = {}
    silence: dict[int, Floats] = {}
    for apartment in sorted({*by_home, *silent, *placed}):
        said = by_home.get(apartment, [])
        kind = space.home_class(apartment, _set_point(said))
        terms = _terms(space, kind, said)
        for item in placed.get(apartment, []):
            terms[item.source] = terms.get(item.source, 0.0) + _found_term(space, kind, item)
        if apartment in silent:
            if id(kind) not in silence:
                silence[id(kind)] = kind.spread(silence_log_likelihood(kind, awake_hours))
            terms[SILENCE] = silence[id(kind)]
        prior = space.local_log_prior(apartment)
        homes[apartment] = HomeBelief(apartment, kind, prior, terms, merged(_reports(said)))
    return Belief(space, homes, shared_terms, _posterior(space, homes, shared_terms))


def _posterior(
    space: Space,
    homes: Mapping[ApartmentId, HomeBelief],
    shared_terms: Mapping[str, Floats],
    without: frozenset[str] = frozenset(),
) -> Posterior:
    log_prior = space.log_prior.copy()
    for source, term in shared_terms.items():
        if source not in without:
            log_prior += term
    return infer(log_prior, [home.table(without) for home in homes.values()])


def _reports(said: Iterable[Evidence]) -> list[Reported]:
    return [e.fact for e in said if isinstance(e.fact, Reported)]


def _set_point(said: Iterable[Evidence]) -> float | None:
    told = [e.fact.set_f for e in said if isinstance(e.fact, RoomRead) and e.fact.set_f is not None]
    # A thermostat turned up in despair says little about what people find comfortable.
    return None if not told else min(max(told[-1], 62.0), 76.0)


def _terms(space: Space, kind: HomeClass, said: Sequence[Evidence]) -> dict[str, Floats]:
    """Log likelihood by source. Reports of one home count once, together, under the first of them."""
    terms: dict[str, Floats] = {}
    shape = (len(kind.looks), len(kind.local) + 1)

    def add(source: str, term: Floats) -> None:
        terms[source] = terms.get(source, np.zeros(shape)) + term

    first = next((e.source for e in said if isinstance(e.fact, Reported)), None)
    together = merged(_reports(said))
    if first is not None and together is not None:
        add(first, kind.spread(report_log_likelihood(kind, together)))
    latest_room = [e for e in said if isinstance(e.fact, RoomRead) and e.fact.room_f is not None]
    for item in latest_room[-1:]:
        assert isinstance(item.fact, RoomRead)  # noqa: S101 - filtered above
        add(item.source, kind.spread(room_log_likelihood(kind, item.fact)))
    answers = {e.fact.topic: e for e in said if isinstance(e.fact, Answered)}  # the last one counts
    for topic, item in answers.items():
        assert isinstance(item.fact, Answered)  # noqa: S101 - filtered above
        chances = answer_chances(space, kind, topic)
        if item.fact.means in chances:
            add(item.source, np.log(chances[item.fact.means]))
    return terms


def _place_findings(
    space: Space, findings: Sequence[Evidence], by_home: Mapping[ApartmentId, list[Evidence]]
) -> tuple[dict[ApartmentId, list[Evidence]], dict[str, Floats]]:
    """Which home each finding belongs to, or its weight on the shared states."""
    placed: dict[ApartmentId, list[Evidence]] = {}
    shared: dict[str, Floats] = {}
    for item in findings:
        assert isinstance(item.fact, Found)  # noqa: S101 - findings only
        touched = homes_touched(space.plant, item.fact.component)
        complaining = [home for home in touched if _reports(by_home.get(home, []))]
        if len(touched) == 1 or len(complaining) == 1:
            home = next(iter(touched if len(touched) == 1 else complaining))
            placed.setdefault(home, []).append(item)
        else:
            shared[item.source] = shared.get(item.source, 0.0) + _shared_term(
                space, item.fact, touched
            )
    return placed, shared


def _member_logs(
    space: Space, found: Found, touched: frozenset[ApartmentId]
) -> tuple[Floats, float]:
    """Log likelihood if this shared fault speaks for the finding, NaN if not; and if healthy."""
    logs = np.full(len(space.shared) + 1, np.nan)  # the last entry serves member -1
    for n, candidate in enumerate(space.shared):
        expected = speaks_for(candidate.row, found)
        if expected and candidate.homes & touched:
            logs[n] = np.log(chance(expected, found))
    return logs, float(np.log(chance((), found)))


def _shared_term(space: Space, found: Found, touched: frozenset[ApartmentId]) -> Floats:
    logs, healthy = _member_logs(space, found, touched)
    of_members = logs[space.members]
    speaks = ~np.isnan(of_members).all(axis=1)
    best = np.where(np.isnan(of_members), -np.inf, of_members).max(axis=1)
    return np.where(speaks, best, healthy)


def _found_term(space: Space, kind: HomeClass, item: Evidence) -> Floats:
    assert isinstance(item.fact, Found)  # noqa: S101 - findings only
    found = item.fact
    logs, healthy = _member_logs(space, found, homes_touched(space.plant, found.component))
    by_look = np.array([_first_known([logs[n] for n in look], healthy) for look in kind.looks])
    own = [np.nan] + [
        np.log(chance(e, found)) if (e := speaks_for(c.row, found)) else np.nan for c in kind.local
    ]
    own_row = np.array(own)[None, :]
    return np.where(np.isnan(own_row), by_look[:, None], own_row)


def _first_known(logs: Sequence[float], otherwise: float) -> float:
    known = [x for x in logs if not np.isnan(x)]
    return max(known) if known else otherwise
