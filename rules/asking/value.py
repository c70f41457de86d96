"""What a question is worth, and which one to ask next.

Theory of operation
-------------------
With one fault, and actions that each cost minutes to try, trying in falling order of probability over
cost minimises the expected cost of repair (Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995).
A question is worth the expected fall of that cost when its answer is known, times the chance that it
brings a usable answer. It is asked only if it is worth more minutes than the tenant's effort. A
question whose answers cannot change the order of actions is worth nothing, and is never asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.diagnosis import Diagnosis
from rules.diagnosis.answers import answer_chances, changes_with_time, unsure_chance
from rules.diagnosis.causes import Causes
from rules.faults.candidates import Candidate
from rules.faults.catalogue import Fault, checks, parts
from rules.model import ApartmentId, TopicId

__all__ = [
    "expected_cost_of_repair",
    "next_question",
    "question_values",
    "repair_order",
    "value_of_information",
    "value_of_question",
]

Floats = NDArray[np.float64]

# If nothing on the list helps: a second visit by somebody else (common practice, no source).
FALLBACK_MINUTES = 240.0
# An hour's wage buys this much of parts: dollars per minute (common practice, no source).
DOLLARS_PER_MINUTE = 1.5
ENTRY_MINUTES = 10.0


def repair_order(chances: Floats, costs: Floats) -> NDArray[np.intp]:
    """Indices in the order in which to try: falling chance over cost; ties keep their order."""
    return np.argsort(-(chances / costs), kind="stable")


def expected_cost_of_repair(
    chances: Floats,
    costs: Floats,
    *,
    repair_costs: Floats | None = None,
    fallback: float = 0.0,
) -> float:
    """Expected cost of trying actions in the best order until one mends it.

    Args:
        chances: P(fault i), summing to at most 1; shape (faults,).
        costs: cost of trying (or observing) action i, in any unit; the order is by chance over cost.
        repair_costs: with observe-then-repair, what mending i costs once it is seen.
        fallback: cost that follows if none of them was it, times the chance of that.
    """
    order = repair_order(chances, costs)
    sorted_chances = chances[order]
    still = 1.0 - np.concatenate([[0.0], np.cumsum(sorted_chances)[:-1]])
    total = float((costs[order] * still).sum())
    if repair_costs is not None:
        total += float((sorted_chances * repair_costs[order]).sum())
    return total + fallback * max(0.0, 1.0 - float(chances.sum()))


def value_of_question(
    chances: Floats, costs: Floats, likelihood: Floats, *, fallback: float = 0.0
) -> float:
    """Expected fall of the cost of repair by an answer, before the cost of asking.

    Args:
        chances: P(fault i); shape (faults,).
        costs: cost of action i.
        likelihood: P(answer | fault); shape (faults, answers), rows sum to 1.
        fallback: as in ``expected_cost_of_repair``.
    """
    return _value(chances[:, None] * likelihood, chances, costs, fallback)


def value_of_information(chances: Floats, likelihood: Floats, utility: Floats) -> float:
    """Value of an observation for one decision: gain in expected utility of the best action.

    Args:
        chances: P(state); likelihood: P(observation | state), shape (states, observations);
        utility: shape (actions, states).
    """
    before = float((utility @ chances).max())
    joint = chances[:, None] * likelihood
    after = float((utility @ joint).max(axis=0).sum())
    return max(after - before, 0.0) if after - before > 1e-12 else 0.0


def _value(joint: Floats, chances: Floats, costs: Floats, fallback: float) -> float:
    """The same from joint mass P(fault, answer); what is missing to 1 is not described."""
    before = expected_cost_of_repair(chances, costs, fallback=fallback)
    after = 0.0
    for answer in joint.T:
        after += _mass_cost(answer, float(answer.sum()), costs, fallback)
    return before - after


def _mass_cost(mass: Floats, total: float, costs: Floats, fallback: float) -> float:
    if total <= 0:
        return 0.0
    return total * expected_cost_of_repair(mass / total, costs, fallback=fallback)


def question_values(diagnosis: Diagnosis, apartment: ApartmentId) -> Mapping[TopicId, float]:
    """Net worth in minutes of every question that may be asked of this home, unordered."""
    home = diagnosis.belief.homes.get(apartment)
    if home is None or home.reported is None:
        return {}
    cause = diagnosis.causes[apartment]
    costs = _costs(diagnosis, apartment)
    chances = np.concatenate([cause.shared, cause.own])
    before = expected_cost_of_repair(chances, costs, fallback=FALLBACK_MINUTES)
    worth_to_law = table("answers")["worth_minutes"]
    emitter = diagnosis.plant.apartment(apartment).emitter
    values: dict[TopicId, float] = {}
    for question in table("questions"):
        topic = TopicId(question["id"])
        if not _may_ask(question, {k.value for k in home.reported.kinds}, emitter):
            continue
        masses = _masses(diagnosis, apartment, topic)
        after = sum(_after(cause, mass, costs) for mass in masses)
        gain = (before - after) * (1 - unsure_chance(topic)) if masses else 0.0
        values[topic] = gain + float(worth_to_law.get(topic, 0.0)) - question["effort_minutes"]
    return values


def next_question(
    diagnosis: Diagnosis,
    apartment: ApartmentId,
    known: Collection[TopicId],
    asked: Collection[TopicId],
) -> TopicId | None:
    """The question worth most to this home's ticket, or None if none is worth its effort.

    Args:
        diagnosis: of the building, with all evidence so far.
        apartment: whose people are asked.
        known: topics whose answer is known, never asked.
        asked: topics already asked, never asked again.
    """
    values = question_values(diagnosis, apartment)
    open_topics = [t for t in values if t not in known and t not in asked and values[t] > 0]
    return max(open_topics, key=lambda t: (values[t], t), default=None)


def _masses(diagnosis: Diagnosis, apartment: ApartmentId, topic: TopicId) -> list[Floats]:
    """P(state, answer now) for every usable answer, in the rows of ``Causes.mass``."""
    belief = diagnosis.belief
    home, mass = belief.homes[apartment], diagnosis.causes[apartment].mass
    by_onset = mass.reshape(len(belief.times.onsets), -1, mass.shape[1])
    if not changes_with_time(topic):
        chances = answer_chances(belief.space, home.kind, topic, 0.0)
        return [(by_onset * c[None]).reshape(mass.shape) for c in chances.values()]
    timed = [
        answer_chances(belief.space, home.kind, topic, onset.hours(belief.times.now))
        for onset in belief.times.onsets
    ]
    return [
        np.concatenate([part * t[means] for part, t in zip(by_onset, timed, strict=True)])
        for means in timed[0]
    ]


def _after(cause: Causes, mass: Floats, costs: Floats) -> float:
    return _mass_cost(cause.split(mass), float(mass.sum()), costs, FALLBACK_MINUTES)


def _may_ask(question: Mapping[str, object], kinds: Collection[str], emitter: str) -> bool:
    about = question["about"]
    waits = question.get("wait_minutes")
    if not isinstance(about, list) or not set(about) & set(kinds):
        return False
    return not (isinstance(waits, dict) and waits.get(emitter) is None)


def _costs(diagnosis: Diagnosis, apartment: ApartmentId) -> Floats:
    own = diagnosis.belief.homes[apartment].kind.local
    shared: Sequence[Candidate] = diagnosis.belief.space.shared
    minutes = [_minutes(c.row) for c in shared]
    return np.array([*minutes, FALLBACK_MINUTES, *(_minutes(c.row) for c in own)])


def _minutes(row: Fault | None) -> float:
    """Minutes to try a fault: first check, repair, and the price of its first part as time."""
    if row is None:
        return FALLBACK_MINUTES
    first_check = checks()[row.checks[0].check].minutes if row.checks else ENTRY_MINUTES
    entry = ENTRY_MINUTES if row.at in ("valve", "thermostat", "apartment") else 0.0
    part = parts()[row.parts[0]].cost / DOLLARS_PER_MINUTE if row.parts else 0.0
    return first_check + entry + sum(row.repair.minutes) / 2 + part
