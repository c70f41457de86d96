"""What a question is worth, and which one to ask next.

Theory of operation
-------------------
A complaint costs a visit; more if the truck aims at the wrong component; much less if the cause is one
that the tenant can be helped with by text; and on site the minutes until the cause is found (``costs``).
A question is worth the expected fall of that cost when its answer is known, times the chance that it
brings a usable answer. It is asked only if it is worth more minutes than the tenant's effort and wait;
one whose answers change nothing of all this is worth nothing, and is never asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rules.choosing.costs import FALLBACK_MINUTES, Plan
from rules.choosing.masses import weigh
from rules.data import table
from rules.diagnosis import Diagnosis
from rules.diagnosis.answers import (
    answer_values,
    unsure_chance,
)
from rules.diagnosis.exact import Floats, Indices
from rules.faults.candidates import Candidate
from rules.faults.catalogue import checks
from rules.faults.rows import Fault
from rules.model import ApartmentId, ComponentId, TopicId

__all__ = ["next_question", "question_values"]

ENTRY_MINUTES = 10.0
# A question must save more than this beyond the tenant's effort: every text tries somebody's patience.
WORTH_ASKING_MINUTES = 1.0
# What is to be looked at again after a wait costs a part of that wait: the radiator that is touched now
# is known now (common practice, no source).
OF_EACH_MINUTE_WAITED = 0.15


def question_values(diagnosis: Diagnosis, apartment: ApartmentId) -> Mapping[TopicId, float]:
    """Net worth in minutes of every question that may be asked of this home, unordered."""
    diagnosis = diagnosis.of([apartment])
    home = diagnosis.belief.homes.get(apartment)
    if home is None or home.reported is None:
        return {}
    kinds = frozenset(k.value for k in home.reported.kinds)
    asked = _questions(kinds, diagnosis.plant.apartment(apartment).emitter)
    weighed = weigh(diagnosis, apartment)
    mass, total = weighed.by_cause(asked.usable)
    costs = _plan(diagnosis, apartment, weighed.candidates).costs(mass, total)
    worth, saved = asked.beside.copy(), costs[0] - np.add.reduceat(costs, asked.answers)
    worth[asked.place] += saved * asked.usable_share
    return dict(zip(asked.topics, worth.tolist(), strict=True))


@dataclass(frozen=True, eq=False, slots=True)
class _Questions:
    """The questions that may be put to some homes, and those from which a diagnosis draws anything."""

    topics: tuple[TopicId, ...]
    beside: Floats  # (topics,): worth beyond the diagnosis minus effort and wait, in minutes
    usable: tuple[TopicId, ...]
    place: Indices  # (usable,): their places among the topics
    answers: Indices  # (usable,): where the answers to each begin, after no answer
    usable_share: Floats  # (usable,): chance of a usable answer


@lru_cache(maxsize=128)
def _questions(kinds: frozenset[str], emitter: str) -> _Questions:
    """Those that go with these kinds of complaint and this kind of emitter."""
    asked = [q for q in table("questions") if _may_ask(q, kinds, emitter)]
    topics = tuple(TopicId(q["id"]) for q in asked)
    counts = np.array([len(answer_values(t)) for t in topics], dtype=np.intp)
    place = np.flatnonzero(counts)
    usable = tuple(topics[n] for n in place)
    worth = table("answers")["worth_minutes"]
    return _Questions(
        topics=topics,
        beside=np.array(
            [
                max((worth.get(t, {}).get(kind, 0.0) for kind in kinds), default=0.0)
                - q["effort_minutes"]
                - OF_EACH_MINUTE_WAITED * q.get("wait_minutes", {}).get(emitter, 0.0)
                for t, q in zip(topics, asked, strict=True)
            ]
        ),
        usable=usable,
        place=place,
        answers=1 + np.cumsum(counts[place]) - counts[place],
        usable_share=np.array([1 - unsure_chance(t) for t in usable]),
    )


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


def _may_ask(question: Mapping[str, object], kinds: Collection[str], emitter: str) -> bool:
    about = question["about"]
    waits = question.get("wait_minutes")
    if not isinstance(about, list) or not set(about) & set(kinds):
        return False
    return not (isinstance(waits, dict) and waits.get(emitter) is None)


@dataclass(frozen=True, eq=False, slots=True)
class _Repairs:
    """What is known of mending all that may be behind a complaint; arrays (causes,).

    All shared faults, something unknown, and all faults of one's own.
    """

    minutes: Floats  # of the first check of each
    by_text: NDArray[np.bool_]  # whether the tenant can mend it
    component: Indices  # number of its component

    @staticmethod
    def of(shared: Sequence[Candidate], own: Sequence[Candidate]) -> _Repairs:
        """Of these faults."""
        causes, helped = (*shared, None, *own), frozenset(table("answers")["by_text"])
        number: dict[ComponentId | None, int] = {}
        places = [None if c is None else c.component for c in causes]
        return _Repairs(
            np.array([_minutes(None if c is None else c.row) for c in causes]),
            np.array([c is not None and c.fault in helped for c in causes]),
            np.array([number.setdefault(place, len(number)) for place in places]),
        )


def _plan(diagnosis: Diagnosis, apartment: ApartmentId, candidates: Indices) -> Plan:
    """The plan for some shared candidates and all own states; own state 0 is something unknown."""
    kind, shared = diagnosis.belief.homes[apartment].kind, diagnosis.belief.space.shared
    repairs = kind.once("repairs", lambda: _Repairs.of(shared, kind.local))

    def make() -> Plan:
        own = np.arange(len(shared), len(repairs.minutes))
        causes = np.concatenate([candidates, own])
        return Plan(
            minutes=repairs.minutes[causes],
            component=repairs.component[causes],
            by_text=repairs.by_text[causes],
            other_minutes=float(np.delete(repairs.minutes, causes).sum()),
        )

    return kind.once(("plan", candidates.tobytes()), make)


def _minutes(row: Fault | None) -> float:
    """Minutes to look at a suspect: its first check, and the way into a home."""
    if row is None:
        return FALLBACK_MINUTES
    first_check = checks()[row.checks[0].check].minutes if row.checks else ENTRY_MINUTES
    in_home = row.at in ("valve", "thermostat", "apartment")
    return first_check + (ENTRY_MINUTES if in_home else 0.0)
