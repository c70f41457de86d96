"""Why a suspect is suspected: each message's weight for and against it.

Theory of operation
-------------------
The weight of a message for a suspect is the change of the suspect's log odds when that message is taken
out and everything else is weighed again. Exact, and it can be opened: nothing else moved it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.belief import SILENCE, Belief
from rules.model import (
    Answered,
    ApartmentId,
    ComponentId,
    Evidence,
    Fact,
    FaultId,
    Found,
    Reported,
    RoomRead,
)

__all__ = ["Why", "describe", "why"]

_WORTH_SAYING = 0.05


@dataclass(frozen=True, slots=True)
class Why:
    """One source's weight (natural log of the odds ratio) for (+) or against (-) a suspect.

    ``source`` is the message or finding, or None for the silence of homes.
    """

    says: str
    source: str | None
    fault: FaultId
    component: ComponentId
    weight: float


def why(
    belief: Belief,
    evidence: Sequence[Evidence],
    apartments: Sequence[ApartmentId],
    suspects: Sequence[tuple[FaultId, ComponentId]],
) -> tuple[Why, ...]:
    """All sources that move the given suspects, the strongest first."""
    homes = set(apartments)
    said: dict[str, list[Fact]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source)):
        fact = item.fact
        if isinstance(fact, Found) or fact.apartment in belief.homes:
            said.setdefault(item.source, []).append(fact)
    silent = sorted(a for a, h in belief.homes.items() if SILENCE in h.terms)
    lines: list[Why] = []
    full = [_log_odds(belief, homes, s) for s in suspects]
    for source in (*said, *([SILENCE] if silent else [])):
        less = belief.without(source)
        words = _silence_words(silent) if source == SILENCE else describe(said[source])
        for suspect, with_all in zip(suspects, full, strict=True):
            weight = with_all - _log_odds(less, homes, suspect)
            if abs(weight) >= _WORTH_SAYING:
                named = None if source == SILENCE else source
                lines.append(Why(words, named, *suspect, weight))
    lines.sort(key=lambda line: (-abs(line.weight), line.says, line.fault))
    return tuple(lines)


def describe(facts: Iterable[Fact]) -> str:
    """Facts of one source in plain words, without names of people."""
    return "; ".join(_words(fact) for fact in facts)


def _words(fact: Fact) -> str:
    if isinstance(fact, Reported):
        kinds = ", ".join(k.value.replace("_", " ") for k in sorted(fact.kinds)) or "something"
        noise = f" ({fact.noise.value})" if fact.noise else ""
        return f"{fact.apartment} reports {kinds}{noise}"
    if isinstance(fact, RoomRead):
        room = f"reads {fact.room_f:.0f} F" if fact.room_f is not None else ""
        wanted = f"set to {fact.set_f:.0f} F" if fact.set_f is not None else ""
        return f"{fact.apartment} {', '.join(x for x in (room, wanted) if x)}"
    if isinstance(fact, Answered):
        return f"{fact.apartment} answers {fact.topic}: {fact.means.replace('_', ' ')}"
    state = {True: " calling", False: " not calling", None: ""}[fact.calling]
    reading = fact.outcome or f"{fact.value:g} {fact.unit or ''}".strip()
    return f"{fact.check} at {fact.component}{state}: {reading}"


def _silence_words(silent: Sequence[ApartmentId]) -> str:
    if len(silent) > 6:
        return f"{len(silent)} homes that could have written have not"
    return f"no complaint from {', '.join(silent)}"


def _log_odds(
    belief: Belief,
    homes: set[ApartmentId],
    suspect: tuple[FaultId, ComponentId],
) -> float:
    chance = _chance(belief, homes, suspect)
    chance = min(max(chance, 1e-12), 1 - 1e-12)
    return float(np.log(chance / (1 - chance)))


def _chance(
    belief: Belief,
    homes: set[ApartmentId],
    suspect: tuple[FaultId, ComponentId],
) -> float:
    """Chance that the suspect is there."""
    space = belief.space
    for n, candidate in enumerate(space.shared):
        if (candidate.fault, candidate.component) == suspect:
            present = (space.members == n).any(axis=1)
            return float(belief.shared[present].sum())
    for apartment in sorted(homes):
        for k, candidate in enumerate(space.local(apartment), start=1):
            if (candidate.fault, candidate.component) == suspect:
                return float(belief.by_look(apartment)[:, k].sum())
    return 0.0
