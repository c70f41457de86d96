"""Whether so many homes writing at once is more than coincidence.

Theory of operation
-------------------
People write now and then without a common cause: something of their own breaks, or nothing is wrong.
The Poisson scan statistic (Kulldorff 1997) compares the ``c`` homes that wrote within a stretch of hours
with the ``E`` expected there if the same complaints were spread evenly,

    LLR = c ln(c / E) + (C - c) ln((C - c) / (C - E))   if c > E, else 0,

here with the year's complaints as ``C``. Of several stretches the one with the largest ratio is taken.
Places are branches of the plant (riser, loop, transformer, source, building), never circles on a map.
What a person reads is how often it would happen by coincidence: that a home writes and so many others of
its branch do too within those hours. Having looked at several stretches makes coincidence so many times
as easy; it is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import exp, log

from rules.data import table
from rules.diagnosis.belief import Belief
from rules.faults.priors import WINDOW_DAYS
from rules.model import ApartmentId, ComponentId, Evidence, Reported
from rules.plant import Graph, Plant

__all__ = ["Cluster", "chance_of_at_least", "cluster_of", "log_likelihood_ratio"]

LEAST_HOMES = 3
STRETCHES_HOURS = (1, 3, 6, 12, 24, 48)
_DAYS_A_YEAR = 365.25
_NEVER_YEARS = 1000.0


@dataclass(frozen=True, slots=True)
class Cluster:
    """So many of the homes of one branch of the plant wrote within so many hours."""

    homes: int
    of: int
    component: ComponentId
    hours: int
    llr: float
    years: float  # one coincidence like it in so many years

    @property
    def says(self) -> str:
        """The same in a sentence."""
        span = "1 hour" if self.hours == 1 else f"{self.hours} hours"
        return (
            f"{self.homes} of the {self.of} homes on {self.component} wrote within {span}; "
            f"by coincidence that happens {_how_often(self.years)}"
        )


def log_likelihood_ratio(cases: float, expected: float, total: float) -> float:
    """Kulldorff's ratio for a place and time with ``cases`` of ``total`` where ``expected`` were due."""
    if cases <= expected:
        return 0.0
    inside = cases * log(cases / expected)
    outside = total - cases
    return inside + (outside * log(outside / (total - expected)) if outside > 0 else 0.0)


def chance_of_at_least(events: int, mean: float) -> float:
    """Chance of so many events or more where they come by themselves, ``mean`` on average."""
    term, below = exp(-mean), 0.0
    for n in range(events):
        below += term
        term *= mean / (n + 1)
    if below < 0.999:
        return 1.0 - below
    # So rare that the difference to 1 would keep no digits: add up what is left.
    total, n = 0.0, events
    while term > total * 1e-16:
        total += term
        n += 1
        term *= mean / n
    return total


def cluster_of(
    belief: Belief, evidence: Sequence[Evidence], homes: Sequence[ApartmentId]
) -> Cluster | None:
    """How unusual it is that these homes wrote when they did; None of fewer than three.

    Args:
        belief: of their building.
        evidence: all facts of the building; the first report of each home counts.
        homes: of one group.
    """
    if len(homes) < LEAST_HOMES:
        return None
    first: dict[ApartmentId, datetime] = {}
    for item in evidence:
        if isinstance(item.fact, Reported) and item.fact.apartment in homes:
            first[item.fact.apartment] = min(item.at, first.get(item.fact.apartment, item.at))
    component, among = _branch(belief, homes)
    a_day = sum(_usual_rate(belief, home) for home in among)
    times = sorted(first.values())
    stretches = [_stretch(times, hours, a_day) for hours in STRETCHES_HOURS]
    found = [stretch for stretch in stretches if stretch[2] >= LEAST_HOMES]
    if not found:
        return None
    llr, _, count, hours = max(found)
    others = chance_of_at_least(count - 1, a_day * hours / 24)
    a_year = a_day * _DAYS_A_YEAR * others * len(STRETCHES_HOURS)
    return Cluster(count, len(among), component, hours, llr, 1 / a_year)


def _stretch(times: Sequence[datetime], hours: int, a_day: float) -> tuple[float, int, int, int]:
    """The most homes within so many hours, with its ratio; of equal ratios the shorter is larger."""
    span = timedelta(hours=hours)
    count = max((sum(t <= u <= t + span for u in times) for t in times), default=0)
    total = count + a_day * _DAYS_A_YEAR
    expected = total * hours / 24 / _DAYS_A_YEAR
    return log_likelihood_ratio(count, expected, total), -hours, count, hours


def _branch(
    belief: Belief, homes: Sequence[ApartmentId]
) -> tuple[ComponentId, frozenset[ApartmentId]]:
    """The smallest branch of the plant that holds all these homes, and its homes that can write."""
    plant = belief.space.plant
    able = {a for a, h in belief.homes.items() if h.silent or h.reported is not None}
    branches = _branches(plant)
    holding = [b for b in branches if set(homes) <= b[1]]
    component, within = min(holding, key=lambda b: len(b[1]))
    return component, frozenset(within & able) | frozenset(homes)


def _branches(plant: Plant) -> list[tuple[ComponentId, frozenset[ApartmentId]]]:
    """Risers, loops, sources and transformers with the homes they feed, and last the building."""
    water = [r.id for r in plant.risers]
    water += [*(x.id for x in plant.loops), *(s.id for s in plant.heat_sources)]
    found = [(c, plant.apartments_downstream(c, Graph.WATER)) for c in water]
    found += [(t.id, plant.apartments_downstream(t.id, Graph.POWER)) for t in plant.transformers]
    return [*found, (ComponentId(plant.id), frozenset(a.id for a in plant.apartments))]


def _usual_rate(belief: Belief, home: ApartmentId) -> float:
    """Complaints a day that one home makes without a common cause.

    What breaks in it, and what is said for no cause that anybody finds.
    """
    about = table("reporting")
    own = sum(c.prior for c in belief.space.local(home)) / WINDOW_DAYS
    of_nothing = sum(float(chance) for chance in about["without_cause"].values())
    at_set_point = sum(
        next(float(chance) for off_f, chance in about[curve] if off_f == 0)
        for curve in ("cold_under_f", "hot_over_f")
    )
    return own + of_nothing + at_set_point


def _how_often(years: float) -> str:
    if years >= _NEVER_YEARS:
        return "less than once in a thousand years"
    if years >= 2:
        digits = 1 if years < 100 else 2
        scale = 10 ** (len(f"{years:.0f}") - digits)
        return f"about once in {round(years / scale) * scale:.0f} years"
    if years >= 0.7:
        return "about once a year"
    return f"about {1 / years:.0f} times a year"
