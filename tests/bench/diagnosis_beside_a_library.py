"""The product's own posterior of a building beside a general Bayesian-network library, on one model.

Ours is ``Belief.chances`` as a diagnosis runs it: of every home that spoke the product of what its
messages say and the sum over its own states, the silence of all others until now, the sum over homes of
every listed state, and what is not listed. What depends on the plant, the weather or one message alone
is there beforehand, and so are the library's conditional probabilities. "and own" asks beside
that for the own states of every home that complained (``Belief.by_key``).

The library gets the network that the model is (``tests.networks``): every onset with every shared state,
and every home's own states. Of larger houses it cannot hold that: there only so many shared faults can
happen, the likeliest, each alone and each two of them, for both sides alike. Both exact engines of the
library are timed; the ratio is to the quicker one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from functools import partial
from itertools import count, islice

import numpy as np
import pyagrum as gum
from rich.table import Table

from rules.diagnosis import diagnose
from rules.diagnosis.belief import Belief
from rules.diagnosis.moment import timeline
from rules.diagnosis.space import Space
from rules.diagnosis.states import States
from rules.diagnosis.weighing import believe
from rules.model import Household
from rules.plant import Plant
from tests.bench.diagnosis_scenes import NOW, least_ms, least_ms_of, messages, weather
from tests.networks import network, posteriors

__all__ = ["beside_a_library", "library_table"]

# Numbers in the library's tables of all homes; each is a double, and it works on as many again: 4 GB.
_LIBRARY_HOLDS = 256_000_000
_ENGINES = (gum.LazyPropagation, gum.ShaferShenoyInference)
_TIMES, _LIBRARY_TIMES = 41, 5
_EQUAL = 1e-9


def library_table() -> Table:
    """Its title and columns."""
    table = Table(title="Posteriors alone, beside a general library (ms)")
    for name in (
        "homes",
        "faults",
        "states",
        "of",
        "ours",
        "lazy",
        "Shafer",
        "ratio",
        "differ",
    ):
        table.add_column(name, justify="right")
    return table


def beside_a_library(table: Table, plant: Plant) -> None:
    """Add the rows of a house.

    Raises:
        AssertionError: the posteriors differ.
    """
    belief, faults = _held(plant)
    net, later = network(belief, np.arange(belief.states.size)), count(1)
    complaints = {
        a: f"L{n}" for n, (a, h) in enumerate(belief.homes.items()) if h.reported is not None
    }

    def shared(unsummed: Belief) -> object:
        return unsummed.chances

    def with_own(unsummed: Belief) -> list[np.ndarray]:
        shared(unsummed)
        by_key = [unsummed.by_key(a) for a in complaints]
        return [home.by_own_state(mass.sum(axis=(0, 1))) for home, mass in by_key]

    whole: list[tuple[str, list[str], Callable[[Belief], object]]] = [
        ("shared", ["S"], shared),
        ("and own", ["S", *complaints.values()], with_own),
    ]
    found = [belief.states, *with_own(_unsummed(belief, 0))]
    for of, names, ours in whole:
        # The last of ours are not compared where the library was not asked for them.
        both = zip(found, posteriors(net, names), strict=False)
        difference = max(float(np.abs(a - b).max()) for a, b in both)
        assert difference < _EQUAL, f"posteriors of {of} differ by {difference}"
        our_ms = least_ms_of(ours, (_unsummed(belief, n) for n in islice(later, _TIMES)))
        their_ms = [
            least_ms(partial(posteriors, net, names, engine), _LIBRARY_TIMES) for engine in _ENGINES
        ]
        table.add_row(
            str(len(plant.apartments)),
            faults,
            str(belief.states.size),
            of,
            f"{our_ms:.2f}",
            *(f"{ms:.0f}" for ms in their_ms),
            f"{min(their_ms) / our_ms:.0f}",
            f"{difference:.0e}",
        )


def _held(plant: Plant) -> tuple[Belief, str]:
    """The belief of a house with as many of its shared faults as the library holds, and how many."""
    people = [Household(a.id) for a in plant.apartments]
    whole = diagnose(plant, messages(), people, weather(NOW), NOW).belief
    states, each = whole.space.states, whole.chances.with_each.sum(axis=0)
    onsets, own = len(whole.onsets), sum(len(h.log_prior) for h in whole.homes.values())
    most = _LIBRARY_HOLDS / (2 * own * onsets)
    held = min(int(np.sqrt(2 * most)) - 1, len(each))
    kept = np.sort(np.argsort(-each)[:held])
    space = Space(_only(states, kept), whole.space.climate)
    times = timeline(messages(), NOW, plant.timezone)
    reachable = [a.id for a in plant.apartments]
    return believe(space, messages(), reachable, times), f"{held}/{len(each)}"


def _only(states: States, kept: np.ndarray) -> States:
    """The states of a house in which no other shared faults can happen."""
    there = np.isin(states.members, kept) | (states.members < 0)
    at = np.flatnonzero(there.all(axis=1))
    number = np.full(len(states.shared) + 1, -1)  # the last entry serves member -1
    number[kept] = np.arange(len(kept))
    return States(
        plant=states.plant,
        on=states.on,
        shared=tuple(states.shared[n] for n in kept),
        members=number[states.members[at]],
        log_prior=states.log_prior[at],
        log_in_common=states.log_in_common[at[1 + len(kept) :] - 1 - len(states.shared)],
        lives=states.lives,
    )


def _unsummed(belief: Belief, later: int) -> Belief:
    """The same before anything is summed, so few microseconds later that nothing else is another."""
    known = {home: replace(home) for home in set(belief.homes.values())}
    homes = {a: known[home] for a, home in belief.homes.items()}
    times = replace(belief.times, now=belief.times.now + timedelta(microseconds=later))
    return replace(belief, homes=homes, times=times)
