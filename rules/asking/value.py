"""What a question is worth, and which one to ask next.

Theory of operation
-------------------
A complaint costs a visit; more if the truck aims at the wrong component; much less if the cause is one
that the tenant can be helped with by text; and on site the minutes until the cause is found, trying
suspects in falling order of probability over minutes (with one fault and costs that do not depend on
the order that minimises the expected cost: Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995).
A question is worth the expected fall of that cost when its answer is known, times the chance that it
brings a usable answer. It is asked only if it is worth more minutes than the tenant's effort; one
whose answers change nothing of all this is worth nothing, and is never asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.diagnosis import Diagnosis
from rules.diagnosis.answers import (
    answer_chances,
    answer_features,
    changes_with_time,
    unsure_chance,
)
from rules.diagnosis.exact import Indices
from rules.diagnosis.household import without_care
from rules.diagnosis.keys import collapse
from rules.faults.candidates import Candidate
from rules.faults.catalogue import Fault, checks
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

# If nothing on the list is it: minutes until somebody knows (common practice, no source).
FALLBACK_MINUTES = 60.0
ENTRY_MINUTES = 10.0
# A question must save more than this beyond the tenant's effort: every text tries somebody's patience.
WORTH_ASKING_MINUTES = 1.0
# States this unlikely in all cannot make a question worth asking.
NEGLIGIBLE = 1e-4


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


@dataclass(frozen=True, eq=False, slots=True)
class _Plan:
    """What deciding about one complaint costs, from a mass over its causes."""

    minutes: Floats  # of the first check of each cause
    component: NDArray[np.intp]  # which component each cause belongs to
    by_text: NDArray[np.bool_]  # whether the tenant can mend it

    def cost(self, mass: Floats, total: float) -> float:
        """Expected minutes under the best decision, times ``total``.

        A minimum over decisions whose costs are linear in the mass, so no answer can be worth less
        than nothing.
        """
        if total <= 0:
            return 0.0
        best = self._visit(mass, total)
        helped = np.where(self.by_text, mass, 0.0)
        likeliest = int(helped.argmax())
        if helped[likeliest] > 0:
            # Help is offered first; who is not helped by it is visited.
            rest = mass.copy()
            rest[likeliest] = 0.0
            minutes = table("answers")["by_text_minutes"] * total
            best = min(best, minutes + self._visit(rest, total - float(mass[likeliest])))
        return best

    def _visit(self, mass: Floats, total: float) -> float:
        """Expected minutes of going there, times ``total``."""
        about = table("answers")
        aimed_at = float(np.bincount(self.component, mass).max(initial=0.0))
        aim = float(about["wrong_aim_minutes"]) * (total - aimed_at)
        on_site = _mass_cost(mass, total, self.minutes, FALLBACK_MINUTES)
        return float(about["visit_minutes"]) * total + aim + on_site


def question_values(diagnosis: Diagnosis, apartment: ApartmentId) -> Mapping[TopicId, float]:
    """Net worth in minutes of every question that may be asked of this home, unordered."""
    home = diagnosis.belief.homes.get(apartment)
    if home is None or home.reported is None:
        return {}
    cause = diagnosis.causes[apartment]
    plan = _plan(diagnosis, apartment)
    likely = _likely_states(diagnosis, apartment)
    before = plan.cost(cause.split(likely.mass.sum(axis=0), likely.looks, likely.part_shared), 1.0)
    worth_to_law = table("answers")["worth_minutes"]
    emitter = diagnosis.plant.apartment(apartment).emitter
    values: dict[TopicId, float] = {}
    for question in table("questions"):
        topic = TopicId(question["id"])
        if not _may_ask(question, {k.value for k in home.reported.kinds}, emitter):
            continue
        masses = _masses(diagnosis, apartment, topic, likely)
        after = sum(
            plan.cost(mass, float(mass_of_answer))
            for mass, mass_of_answer in zip(
                cause.split(masses, likely.looks, likely.part_shared),
                masses.sum(axis=(1, 2)),
                strict=True,
            )
        )
        gain = (before - after) * (1 - unsure_chance(topic)) if len(masses) else 0.0
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
    open_topics = [
        t for t in values if t not in known and t not in asked and values[t] > WORTH_ASKING_MINUTES
    ]
    return max(open_topics, key=lambda t: (values[t], t), default=None)


@dataclass(frozen=True, eq=False, slots=True)
class _Likely:
    """The looks of a home that hold all but a negligible part of its mass."""

    looks: Indices
    mass: Floats  # (onsets, these looks, own states)
    part_shared: Floats  # (these looks, own states), see ``Causes``
    careless: float  # chance that this household answers without care


def _likely_states(diagnosis: Diagnosis, apartment: ApartmentId) -> _Likely:
    belief = diagnosis.belief
    home = belief.homes[apartment]
    rows = belief.by_row(home)
    order = np.argsort(rows.sum(axis=0))
    looks = np.sort(order[np.cumsum(rows.sum(axis=0)[order]) > NEGLIGIBLE])
    given = home.own_given_key[:, home.keys.of_look[looks]]
    mass = given * rows[:, looks, None]
    part = diagnosis.causes[apartment].part_shared[:, home.keys.of_look[looks]]
    by_onset = belief.onsets[:, None, None] * part
    cells = np.ix_(np.arange(len(rows)), home.keys.of_look[looks], home.keys.of_own)
    careless = float((mass * home.careless[cells]).sum() / mass.sum())
    return _Likely(looks, mass / mass.sum(), by_onset.sum(axis=0), careless)


def _masses(
    diagnosis: Diagnosis, apartment: ApartmentId, topic: TopicId, likely: _Likely
) -> Floats:
    """P(look, own state, answer now), shape (usable answers, likely looks, own states)."""
    belief = diagnosis.belief
    home = belief.homes[apartment]
    keys = collapse(home.kind, answer_features(belief.space, home.kind, topic))
    cells = np.ix_(keys.of_look[likely.looks], keys.of_own)

    def chances(hours: float) -> Floats:
        by_key = answer_chances(belief.space, home.kind, keys, topic, hours).values()
        mixed = [
            (1 - likely.careless) * c + likely.careless * without_care(c, len(by_key))
            for c in by_key
        ]
        spread = [np.broadcast_to(c, keys.shape)[cells] for c in mixed]
        return (
            np.stack(spread) if spread else np.zeros((0, len(likely.looks), likely.mass.shape[2]))
        )

    if not changes_with_time(topic):
        untimed: Floats = chances(0.0) * likely.mass.sum(axis=0)
        return untimed
    timed = [chances(onset.hours(belief.times.now)) for onset in belief.times.onsets]
    summed: Floats = np.einsum("naij,nij->aij", np.stack(timed), likely.mass)
    return summed


def _may_ask(question: Mapping[str, object], kinds: Collection[str], emitter: str) -> bool:
    about = question["about"]
    waits = question.get("wait_minutes")
    if not isinstance(about, list) or not set(about) & set(kinds):
        return False
    return not (isinstance(waits, dict) and waits.get(emitter) is None)


def _plan(diagnosis: Diagnosis, apartment: ApartmentId) -> _Plan:
    own = diagnosis.belief.homes[apartment].kind.local
    shared: Sequence[Candidate] = diagnosis.belief.space.shared
    causes: list[Candidate | None] = [*shared, None, *own]
    helped = frozenset(table("answers")["by_text"])
    places = {c.component: n for n, c in enumerate(x for x in causes if x is not None)}
    return _Plan(
        minutes=np.array([_minutes(None if c is None else c.row) for c in causes]),
        component=np.array([0 if c is None else places[c.component] for c in causes]),
        by_text=np.array([c is not None and c.fault in helped for c in causes]),
    )


def _minutes(row: Fault | None) -> float:
    """Minutes to look at a suspect: its first check, and the way into a home."""
    if row is None:
        return FALLBACK_MINUTES
    first_check = checks()[row.checks[0].check].minutes if row.checks else ENTRY_MINUTES
    in_home = row.at in ("valve", "thermostat", "apartment")
    return first_check + (ENTRY_MINUTES if in_home else 0.0)
