"""Why a suspect is suspected: each message's weight for and against it.

Theory of operation
-------------------
The weight of a message or reading for a suspect is the log of how much likelier it is if the suspect is
there than if it is not, everything else being as it was beforehand (Good's weight of evidence). Taken
one by one, five homes that say the same each keep their weight. Silence means nothing by itself, only
beside what others said: its weight is what the suspect's log odds lose when the silence is taken out
and all the rest is weighed again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats, gathered, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.said import Said
from rules.diagnosis.words import describe, silence_words
from rules.model import ApartmentId, ComponentId, Evidence, Fact, FaultId, Found

__all__ = ["Why", "why"]

_WORTH_SAYING = 0.05


@dataclass(frozen=True, slots=True)
class Why:
    """One source's weight (natural log) for (+) or against (-) a suspect.

    ``source`` is the message or finding, or None for the silence of homes.
    """

    says: str
    source: str | None
    fault: FaultId
    component: ComponentId
    weight: float


@dataclass(frozen=True, slots=True)
class _Suspect:
    """Where a suspect stands: a shared candidate, or an own state of one home."""

    shared: int | None
    apartment: ApartmentId | None
    own: int | None


def why(
    belief: Belief,
    evidence: Sequence[Evidence],
    apartments: Sequence[ApartmentId],
    suspects: Sequence[tuple[FaultId, ComponentId]],
) -> tuple[Why, ...]:
    """All sources that move the given suspects, the strongest first."""
    said: dict[str, list[Fact]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source)):
        fact = item.fact
        if isinstance(fact, Found) or fact.apartment in belief.homes:
            said.setdefault(item.source, []).append(fact)
    lines: list[Why] = []
    for fault, component in suspects:
        suspect = _find(belief, apartments, (fault, component))
        if suspect is None:
            continue
        weights = _weights(belief, suspect)
        for source, facts in said.items():
            weight = weights.get(source, 0.0)
            if abs(weight) >= _WORTH_SAYING:
                lines.append(Why(describe(facts), source, fault, component, weight))
        if belief.silent:
            moved = _moved_by_silence(belief, suspect)
            if abs(moved) >= _WORTH_SAYING:
                says = silence_words(belief.silent)
                lines.append(Why(says, None, fault, component, moved))
    # Equal weights differ in their last digits by the order of a sum; words decide between them.
    lines.sort(key=lambda line: (-round(abs(line.weight), 9), line.says, line.fault))
    return tuple(lines)


def _find(
    belief: Belief, apartments: Sequence[ApartmentId], named: tuple[FaultId, ComponentId]
) -> _Suspect | None:
    states = belief.space.states
    if (shared := states.places.get(named)) is not None:
        return _Suspect(shared, None, None)
    for apartment in apartments:
        if (own := states.local_places(apartment).get(named)) is not None:
            return _Suspect(None, apartment, own)
    return None


def _weights(belief: Belief, suspect: _Suspect) -> Mapping[str, float]:
    """Log of P(source | suspect there) / P(source | not there) by source, all else as beforehand."""
    weights: dict[str, float] = {}
    if suspect.shared is not None:
        for source, term in belief.shared_terms.items():
            there = _there(belief, suspect.shared)
            shares = _shares(there, belief.prior - there)
            weights[source] = _ratio(np.exp(term - term.max()), *shares)
    weigh = _weight_of_shared if suspect.own is None else _weight_of_own
    for apartment, home in belief.told.items():
        if suspect.apartment not in (None, apartment):
            continue
        for source in home.said:
            name = ("weight", source, suspect.shared, suspect.own)
            found = home.memo.once(name, lambda h=home, s=source: weigh(belief, h, s, suspect))  # type: ignore[misc]
            weights[source] = weights.get(source, 0.0) + found
    return weights


def _weight_of_shared(belief: Belief, home: HomeBelief, source: str, suspect: _Suspect) -> float:
    candidate = suspect.shared
    assert candidate is not None  # noqa: S101 - that is who comes here
    there, absent = home.kind.once(
        ("there", candidate), lambda: _by_presence(belief, home.kind, candidate)
    )
    by_look = home.memo.once(("by look", source), lambda: _by_look(home, source))
    return _ratio(by_look, there, absent)


def _by_presence(belief: Belief, kind: HomeClass, candidate: int) -> tuple[Floats, Floats]:
    """P(look | a candidate is there) and P(look | it is not) beforehand; both (looks,)."""
    looks, where = kind.shape[0], belief.space.states.where(candidate)
    before = kind.once("prior", lambda: gathered(kind.look_of_state, belief.prior, looks))
    there = gathered(kind.look_of_state[where], belief.prior[where], looks)
    return _shares(there, np.maximum(before - there, 0.0))


def _weight_of_own(belief: Belief, home: HomeBelief, source: str, suspect: _Suspect) -> float:
    assert suspect.own is not None  # noqa: S101 - that is who comes here
    by_own = home.memo.once(("by own", source), lambda: _by_own(belief, home, source))
    absent = np.exp(home.log_prior)
    absent[suspect.own] = 0.0
    return _log_ratio(by_own.item(suspect.own), float(by_own.dot(absent) / absent.sum()))


def _by_look(home: HomeBelief, source: str) -> Floats:
    """P(source | look) beforehand, up to a factor: over own states and onsets."""
    said = home.said[source]
    name = ("by look", home.log_prior.tobytes(), home.times.onsets)
    return said.memo.once(name, lambda: _said_by_look(home, said))


def _said_by_look(home: HomeBelief, said: Said) -> Floats:
    keys = said.keys
    by_key = gathered(keys.of_own, np.exp(home.log_prior), keys.shape[1])
    likely = (said.likely @ by_key) * np.exp(said.scale - said.scale.max())
    by_look = likely.take(keys.of_look, axis=1)
    by_look = by_look * np.exp(said.by_look - said.by_look.max())
    return _over_onsets(home, by_look)


def _by_own(belief: Belief, home: HomeBelief, source: str) -> Floats:
    """P(source | own state) beforehand, up to a factor: over looks and onsets."""
    said, kind = home.said[source], home.kind
    keys = said.keys
    prior = kind.once("prior", lambda: gathered(kind.look_of_state, belief.prior, kind.shape[0]))
    weight = prior * np.exp(said.by_look - said.by_look.max())
    by_key = summed_by(keys.of_look, weight, keys.shape[0])
    by_key = by_key * np.exp(said.scale - said.scale.max())
    likely = np.einsum("nij,ni->nj", said.likely, by_key)
    return _over_onsets(home, likely.take(keys.of_own, axis=1))


def _over_onsets(home: HomeBelief, rows: Floats) -> Floats:
    """Mean over the onsets as they are beforehand; one row stands for all of them."""
    mean: Floats = np.einsum(
        "n,nj->j",
        home.times.chances,
        np.broadcast_to(rows, (len(home.times.onsets), rows.shape[1])),
    )
    return mean


def _shares(there: Floats, absent: Floats) -> tuple[Floats, Floats]:
    """Two sets of weights, each to sum to one."""
    return there / there.sum(), absent / absent.sum()


def _ratio(likely: Floats, there: Floats, absent: Floats) -> float:
    """Log ratio of mean likelihoods under two sets of weights that sum to one."""
    return _log_ratio(float(likely.dot(there)), float(likely.dot(absent)))


def _log_ratio(if_there: float, if_not: float) -> float:
    return math.log(max(if_there, 1e-12) / max(if_not, 1e-12))


def _there(belief: Belief, shared: int) -> Floats:
    """Prior of the shared states in which a candidate is there, 0 elsewhere; (shared states,)."""
    there, where = np.zeros_like(belief.prior), belief.space.states.where(shared)
    there[where] = belief.prior[where]
    return there


def _moved_by_silence(belief: Belief, suspect: _Suspect) -> float:
    """What the silence of homes adds to a suspect's log odds, all else being weighed."""
    unheard = belief.chances_unheard
    if suspect.shared is not None:
        return _log_odds(belief.chances.of_shared(suspect.shared)) - _log_odds(
            unheard.of_shared(suspect.shared)
        )
    assert suspect.apartment is not None  # noqa: S101 - a suspect is shared or of one home
    assert suspect.own is not None  # noqa: S101 - it stands at one home
    home = belief.homes[suspect.apartment]
    given = home.given_state(suspect.own).take(home.keys.of_look, axis=1)
    chance = float(np.einsum("nl,nl->", belief.by_row(home), given))
    return _log_odds(chance) - _log_odds(unheard.of_home(home.kind, given))


def _log_odds(chance: float) -> float:
    chance = min(max(chance, 1e-12), 1 - 1e-12)
    return math.log(chance / (1 - chance))
