"""What does not fit together, and what no answer of a tenant can take apart.

Theory of operation
-------------------
Every likelihood has a floor, because meters slip and people press the wrong key; so a posterior comes
out of any evidence, also of such as cannot be. Two facts contradict each other if no state explains
both: the largest product of their likelihoods over all states is far below the product of the largest
of each (a pair that merely takes a rare state, or two faults, does not). Where two faults both speak
for a reading, the one that it fits worse decides here: a relay at fault besides does not put 24 V on a
coil whose transformer is dead.

Suspects form a set that no tenant can split if every question that their homes may be asked has nearly
the same answers under each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import combinations

import numpy as np

from rules.data import table
from rules.diagnosis import Diagnosis, Group, Suspect
from rules.diagnosis.answers import answer_values, replies, unsure_chance
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.measuring import Concerned, chance, concerned_by, homes_touched, speaks_for
from rules.diagnosis.moment import Since
from rules.diagnosis.terms import by_apartment, home_terms
from rules.diagnosis.words import describe
from rules.faults.candidates import Candidate
from rules.model import Answered, ApartmentId, Evidence, Found, Reported, RoomRead, TopicId

__all__ = ["Contradiction", "contradictions", "unsplit"]

# A product of likelihoods below this share of what each could have: no state explains both.
CANNOT_BE = 0.1
# A likelihood of a reading below this under every fault, and in a healthy plant: nothing explains it.
UNEXPLAINED = 0.05
# Readings farther apart than this may be before and after a repair.
SAME_VISIT = timedelta(hours=6)
# Suspects whose answers differ by less than this share, by every question, are not told apart by any.
ALIKE = 0.15
WORTH_SPLITTING = 0.03
CANNOT = "These two cannot both be right: {}. Measure both again, with the call as noted."
HARDLY = "These two hardly go together: {}. Ask again, or look when there."
_MOST_SUSPECTS = 6


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Facts that cannot all be right; ``fit`` is the share of what each alone could have, 0 to 1."""

    says: str
    sources: tuple[str, ...]
    fit: float


def contradictions(diagnosis: Diagnosis, group: Group) -> tuple[Contradiction, ...]:
    """What cannot be right about the homes of a group, the worst first."""
    diagnosis = diagnosis.of(group.apartments)
    found = [*_of_readings(diagnosis, group), *_of_homes(diagnosis, group)]
    return tuple(sorted(found, key=lambda c: (round(c.fit, 9), c.says)))


def unsplit(diagnosis: Diagnosis, group: Group) -> tuple[tuple[Suspect, ...], ...]:
    """Sets of the first suspects that no question tells apart; who stands alone is left out."""
    suspects = [s for s in group.suspects[:_MOST_SUSPECTS] if s.probability >= WORTH_SPLITTING]
    if len(suspects) < 2:
        return ()
    said = _answers(diagnosis.of(group.apartments), group, suspects)
    sets: list[list[int]] = []
    for n in range(len(suspects)):
        alike = (s for s in sets if all(_farthest(said[n], said[m]) < ALIKE for m in s))
        joined = next(alike, None)
        if joined is None:
            sets.append([n])
        else:
            joined.append(n)
    return tuple(tuple(suspects[n] for n in s) for s in sets if len(s) > 1)


def _of_readings(diagnosis: Diagnosis, group: Group) -> Iterator[Contradiction]:
    """Readings on which no fault, and no two faults, agree."""
    plant, homes = diagnosis.plant, frozenset(group.apartments)
    readings = [
        (e, e.fact, homes_touched(plant, e.fact.component))
        for e in sorted(diagnosis.evidence, key=lambda e: (e.at, repr(e.fact)))
        if isinstance(e.fact, Found) and homes_touched(plant, e.fact.component) & homes
    ]
    likely = _by_pair(diagnosis, homes, [fact for _, fact, _ in readings])
    for (item, fact, _), by_pair in zip(readings, likely, strict=True):
        if (best := float(by_pair.max())) < UNEXPLAINED:
            says = f"No fault on the list explains this: {describe([fact])}. Measure it again."
            yield Contradiction(says, (item.source,), best)
    for (one, first), (two, second) in combinations(zip(readings, likely, strict=True), 2):
        if not one[2] & two[2] or abs(one[0].at - two[0].at) > SAME_VISIT:
            continue
        fit = float((first * second).max() / (first.max() * second.max()))
        if fit < CANNOT_BE:
            yield _both(CANNOT, one[0], two[0], fit)


def _by_pair(
    diagnosis: Diagnosis,
    homes: frozenset[ApartmentId],
    readings: Sequence[Found],
) -> list[Floats]:
    """Likelihood of each reading with any two faults, any one, or none.

    Faults that all readings fit alike are taken once; every array has the same shape and order.
    """
    space = diagnosis.belief.space
    faults = [*space.shared, *(c for home in sorted(homes) for c in space.local(home))]
    at = [(found, concerned_by(space.plant, found.component)) for found in readings]
    rows = {tuple(_speaks(c, *reading) for reading in at): None for c in faults}
    alone = np.array([*rows, (None,) * len(readings)], dtype=np.float64)
    both = np.fmin(alone[:, None], alone[None, :])
    return [
        np.where(np.isnan(both[..., n]), chance((), found), both[..., n])
        for n, found in enumerate(readings)
    ]


def _speaks(fault: Candidate, found: Found, concerned: Concerned) -> float | None:
    speaks = concerned(fault.component, fault.homes)
    expected = speaks_for(fault.row, found, fault.component) if speaks else ()
    return chance(expected, found) if expected else None


def _of_homes(diagnosis: Diagnosis, group: Group) -> Iterator[Contradiction]:
    """What one household said that no fault explains together."""
    said = by_apartment(diagnosis.evidence)
    for apartment in group.apartments:
        home = diagnosis.belief.homes[apartment]
        told = _told(said.get(apartment, []))
        logs = _logs_of(diagnosis.belief, home, told)
        for (one, first), (two, second) in combinations(zip(told, logs, strict=True), 2):
            fit = float(np.exp((first + second).max() - first.max() - second.max()))
            if fit < CANNOT_BE:
                yield _both(HARDLY, one[-1], two[-1], fit)


def _told(said: Sequence[Evidence]) -> list[list[Evidence]]:
    """What counts of what one home said: its reports together, the last room, the last answers."""
    told: dict[object, list[Evidence]] = {}
    for item in said:
        fact = item.fact
        if isinstance(fact, Reported):
            told.setdefault("reports", []).append(item)
        elif isinstance(fact, RoomRead) and fact.room_f is not None:
            told["room"] = [item]
        elif isinstance(fact, Answered) and fact.means in answer_values(fact.topic):
            told[fact.topic] = [item]
    return list(told.values())


def _logs_of(belief: Belief, home: HomeBelief, told: Iterable[Sequence[Evidence]]) -> list[Floats]:
    """Log likelihood of each with no fault or one shared one, and no own fault or one.

    Shape of each (onsets, looks, own states).
    """
    kind = home.kind
    looks = np.array([kind.nothing, *kind.singles[1]])
    own = np.arange(kind.shape[1])
    shape = (len(belief.times.onsets), len(looks), len(own))
    found: list[Floats] = []
    for items in told:
        for _, said in home_terms(belief.space, kind, items, belief.times):
            by_look = said.by_look if said.by_look.shape[1] == 1 else said.by_look[:, looks]
            logs = said.keys.pick(said.logs, looks, own) + by_look[:, :, None]
            found.append(np.broadcast_to(logs, shape))
    return found


def _both(words: str, one: Evidence, two: Evidence, fit: float) -> Contradiction:
    says = words.format(f"{describe([one.fact])}; {describe([two.fact])}")
    return Contradiction(says, (one.source, two.source), fit)


Answers = dict[tuple[ApartmentId, TopicId], Floats]


def _answers(diagnosis: Diagnosis, group: Group, suspects: Sequence[Suspect]) -> list[Answers]:
    """What each home would answer to each question if one suspect were there, and nothing else."""
    belief = diagnosis.belief
    found: list[Answers] = [{} for _ in suspects]
    for apartment in _different(belief, group.apartments):
        kind = belief.homes[apartment].kind
        at = np.array([_state(belief, apartment, suspect) for suspect in suspects]).T
        # A handful of thousands of states is asked about: tables of all would be made for nothing.
        looks, look = np.unique(at[0], return_inverse=True)
        states, own = np.unique([0, *at[1]], return_inverse=True)
        few = kind.only(looks, states.tolist())
        now, likeliest = belief.since(apartment), [int(belief.onsets.argmax())]
        since = Since(now.hours[likeliest], now.empty[likeliest])
        for topic in _topics(diagnosis, apartment):
            reply = replies(belief.space, few, topic)
            chances = reply.chances(since, 0 * look, look, own[1:], len(reply.values))
            usable = chances * (1 - unsure_chance(topic))
            for n, answers in enumerate(found):
                answers[apartment, topic] = usable[:, n]
        few.let_go()
    return found


def _farthest(first: Answers, second: Answers) -> float:
    """The largest share of answers, over all questions, that is different under two suspects."""
    apart = (float(np.abs(first[q] - second[q]).sum()) / 2 for q in first)
    return max(apart, default=0.0)


def _different(belief: Belief, apartments: Iterable[ApartmentId]) -> list[ApartmentId]:
    """One home of each kind: equal homes answer alike."""
    by_kind: dict[object, ApartmentId] = {}
    for apartment in apartments:
        home = belief.homes[apartment]
        kinds = frozenset() if home.reported is None else home.reported.kinds
        by_kind.setdefault((id(home.kind), kinds), apartment)
    return list(by_kind.values())


def _state(belief: Belief, apartment: ApartmentId, suspect: Suspect) -> tuple[int, int]:
    """Look and own state of a home in which only this suspect is at fault."""
    kind = belief.homes[apartment].kind
    named = (suspect.fault, suspect.component)
    for candidate, look in zip(*kind.singles, strict=True):
        shared = belief.space.shared[candidate]
        if (shared.fault, shared.component) == named:
            return int(look), 0
    for own, local in enumerate(belief.space.local(apartment), start=1):
        if (local.fault, local.component) == named:
            return kind.nothing, own
    return kind.nothing, 0


def _topics(diagnosis: Diagnosis, apartment: ApartmentId) -> Iterator[TopicId]:
    """The questions that may be put to a home about what it complains of."""
    reported = diagnosis.belief.homes[apartment].reported
    kinds = set() if reported is None else {k.value for k in reported.kinds}
    emitter = diagnosis.plant.apartment(apartment).emitter
    for question in table("questions"):
        waits = question.get("wait_minutes")
        never = isinstance(waits, Mapping) and waits.get(emitter) is None
        if kinds & set(question["about"]) and not never and answer_values(question["id"]):
            yield TopicId(question["id"])
