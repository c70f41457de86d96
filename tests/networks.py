"""One model in two tongues: a belief as a general library has it, a textbook's tables as we do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pyagrum as gum

from rules.diagnosis.belief import Belief
from rules.diagnosis.home import HomeBelief, believed
from rules.diagnosis.keys import Feature, collapse
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.said import Said
from rules.diagnosis.space import Space, make_space
from rules.diagnosis.states import States
from rules.faults.lives import NOTHING_LEARNED
from rules.heat.columns import HEALTHY
from rules.model import ApartmentId
from tests.houses import a_bare_home, a_house, a_loop, built

__all__ = ["belief_of", "log_evidence", "log_likelihood", "log_prior", "network", "posteriors"]

_NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)


def log_prior(belief: Belief) -> np.ndarray:
    """Log P(onset, shared state) with all checks of what is shared; (onsets, states)."""
    prior = np.log(belief.times.chances)[:, None] + belief.space.log_prior
    return sum(belief.shared_terms.values(), prior)


def log_likelihood(home: HomeBelief, onset: np.ndarray, state: np.ndarray) -> np.ndarray:
    """Log P(all that one home said or did not | onset and shared state, own state).

    Shape (states, own states).
    """
    home = home.opened
    look = home.kind.look_of_state[state]
    by_key = home.total.logs[onset, home.keys.of_look[look]][:, home.keys.of_own]
    return by_key + home.total.by_look[onset, look][:, None]


def network(belief: Belief, kept: np.ndarray) -> gum.BayesNet:
    """The building in a general library: of all onsets with shared states those that are kept.

    One node S for onset and shared state; per home n its own state Ln, and one node En, of value 1,
    for all that it said or did not. Shared faults as nodes of their own would give every En all of
    them as parents: a table with 2 to the power of so many rows.
    """
    net = gum.BayesNet()
    net.add(gum.RangeVariable("S", "", 0, len(kept) - 1))
    prior = log_prior(belief).reshape(-1)[kept]
    net.cpt("S")[:] = _normalised(prior)
    onset, state = np.divmod(kept, len(belief.space.log_prior))
    tables: dict[int, np.ndarray] = {}
    for n, home in enumerate(belief.homes.values()):
        net.add(gum.RangeVariable(f"L{n}", "", 0, len(home.log_prior) - 1))
        net.cpt(f"L{n}")[:] = _normalised(home.log_prior)
        net.add(gum.RangeVariable(f"E{n}", "", 0, 1))
        net.addArc("S", f"E{n}")
        net.addArc(f"L{n}", f"E{n}")
        # In the library's own order, the node itself first, which is the last axis here.
        assert net.cpt(f"E{n}").names == (f"E{n}", "S", f"L{n}")
        if id(home) not in tables:
            logs = log_likelihood(home, onset, state).T
            likely = np.exp(logs - logs.max())
            tables[id(home)] = np.stack([1 - likely, likely], axis=-1)
        net.cpt(f"E{n}")[:] = tables[id(home)]
    return net


def posteriors(
    net: gum.BayesNet, names: Sequence[str], engine: type = gum.LazyPropagation
) -> list[np.ndarray]:
    """P(node | all En are 1) of these nodes."""
    inference = engine(net)
    inference.setEvidence({name: 1 for name in net.names() if name.startswith("E")})
    for name in names:
        inference.addTarget(name)
    inference.makeInference()
    return [inference.posterior(name).toarray() for name in names]


def belief_of(
    log_prior: np.ndarray, tables: Sequence[tuple[np.ndarray, np.ndarray]], faults: int
) -> Belief:
    """The product's belief of a building of which nothing but these chances is known.

    Args:
        log_prior: of no fault, each fault alone, and, if there are so many entries, each two.
        tables: of each home P(own state, what it said | look), (looks, own states), and the look of
            each shared state. Homes are called h0, h1 and so on.
        faults: how many shared faults there are.
    """
    alone = np.stack([np.arange(-1, faults), np.full(1 + faults, -1)], axis=1)
    members = np.concatenate([alone, np.stack(np.triu_indices(faults, k=1), axis=1)])
    members = members[: len(log_prior)]
    plant = built(a_house([a_bare_home(1, "A"), a_bare_home(1, "B")], [a_loop()]))
    real = make_space(plant, _NOW.date(), 20.0)
    shared = (real.shared * faults)[:faults]
    none = np.full(len(members) - 1 - faults, -np.inf)
    states = States(plant, _NOW.date(), shared, members, log_prior, none, NOTHING_LEARNED)
    times = Timeline((Onset(_NOW, 1.0),), _NOW, _NOW, ZoneInfo("UTC"))
    space = Space(states, real.climate)
    homes = {
        ApartmentId(f"h{n}"): _home_of(real, members, times, *table)
        for n, table in enumerate(tables)
    }
    # As if a check spoke of all: no two faults are apart, and those that no entry has are not there.
    return Belief(space, times, homes, {}, frozenset({tuple(range(faults))}))


def _home_of(
    space: Space,
    members: np.ndarray,
    times: Timeline,
    likely: np.ndarray,
    look: np.ndarray,
) -> HomeBelief:
    """A home that feels every fault, and whose own states are alike but for what it said."""
    own = likely.shape[1]
    kind = replace(
        space.home_class(space.plant.apartments[0].id),
        members=members,
        look_of_state=np.arange(len(members)),
        local=space.local(space.plant.apartments[0].id)[: own - 1],
        look_rows=HEALTHY[None],
        row_of_look=np.zeros(len(members), dtype=np.intp),
        own_rows=np.tile(HEALTHY, (own, 1)),
        pattern_of_look=np.zeros(len(members), dtype=np.intp),
        pattern_of_own=np.zeros(own, dtype=np.intp),
        memo=Memo(160),
        reports=Memo(12),
    )
    keys = collapse(kind, [Feature("said", np.asarray(look), np.arange(own))])
    said = Said(keys, likely[None, look[keys.look]] * own)
    same = np.full(own, -np.log(own))
    return believed(kind, same, times, [("m", said)], None, None)


def log_evidence(belief: Belief) -> float:
    """Log P(all that was said)."""
    return belief.chances.log_total - float(np.logaddexp.reduce(belief.space.log_prior))


def _normalised(logs: np.ndarray) -> np.ndarray:
    chances = np.exp(logs - logs.max())
    return chances / chances.sum()
