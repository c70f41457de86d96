"""Which homes that are in danger are so by one cause: a leak, a flue.

Theory of operation
-------------------
Two homes that smell gas, or whose CO alarms sound, within hours of each other are one place to go to if
the diagnosis holds it for likelier than not that a part which reaches both gives off what both noticed.
It is the chance that such a fault is *there*, whatever else is behind their complaints: who is cold and
smells gas smells it because of the gas. What no shared part can give off (smoke from a pan) ties no
homes together, nor do sparks, two different dangers, or what was noticed half a day apart: a leak of
one's own is rare, but days make room for two.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations

from rules.diagnosis.belief import Belief
from rules.faults.candidates import Candidate
from rules.model import ApartmentId, ComponentId, Evidence, Kind, Reported

__all__ = ["OneDanger", "one_danger"]

# From going to bed to getting up, and some (common practice, no source).
WITHIN = timedelta(hours=12)
_LIKELY = 0.5
# Sparks are somebody's own until it has been looked at: two scorched outlets are two places to go to.
_DANGERS = (Kind.GAS_SMELL, Kind.CO_ALARM, Kind.SMOKE)

_Noticed = Mapping[ApartmentId, Mapping[Kind, datetime]]


@dataclass(frozen=True, slots=True)
class OneDanger:
    """Homes in one danger, and the likeliest of the faults that may be behind it."""

    apartments: frozenset[ApartmentId]
    says: str
    component: ComponentId


def one_danger(belief: Belief, evidence: Sequence[Evidence]) -> tuple[OneDanger, ...]:
    """Homes that one dangerous fault reaches and that have noticed it, two at least.

    Args:
        belief: of their building.
        evidence: all facts; when a home first told of a danger counts.
    """
    noticed = _noticed(evidence)
    found: list[OneDanger] = []
    for one, other in combinations(sorted(noticed), 2):
        cause = _common_cause(belief, noticed, one, other)
        if cause is None or cause.row is None:
            continue
        linked = [d for d in found if {one, other} & d.apartments]
        found = [d for d in found if d not in linked]
        homes = frozenset({one, other}).union(*(d.apartments for d in linked))
        first = linked[0] if linked else OneDanger(homes, cause.row.says, cause.component)
        found.append(OneDanger(homes, first.says, first.component))
    return tuple(found)


def _noticed(evidence: Sequence[Evidence]) -> _Noticed:
    found: dict[ApartmentId, dict[Kind, datetime]] = {}
    for item in evidence:
        if isinstance(item.fact, Reported):
            for kind in item.fact.kinds.intersection(_DANGERS):
                at = found.setdefault(item.fact.apartment, {})
                at[kind] = min(item.at, at.get(kind, item.at))
    return found


def _common_cause(
    belief: Belief, noticed: _Noticed, one: ApartmentId, other: ApartmentId
) -> Candidate | None:
    """The likeliest fault behind a danger that both have noticed, if there probably is one."""
    for kind, at in noticed[one].items():
        also_at = noticed[other].get(kind)
        if also_at is None or abs(also_at - at) > WITHIN:
            continue
        able = list(_giving_off(belief, kind, one, other))
        # Faults that give off the same are next to exclusive: their chances add up.
        if sum(chance for chance, _ in able) > _LIKELY:
            return max(able, key=lambda found: found[0])[1]
    return None


def _giving_off(
    belief: Belief, kind: Kind, one: ApartmentId, other: ApartmentId
) -> Iterator[tuple[float, Candidate]]:
    """The shared faults that reach both homes and are noticed as such, each with its chance."""
    chances = belief.chances.with_each.sum(axis=0)
    for chance, candidate in zip(chances, belief.space.shared, strict=True):
        row = candidate.row
        gives_off = row is not None and getattr(row.reports, kind.value) > 0
        if gives_off and {one, other} <= candidate.homes:
            yield float(chance), candidate
