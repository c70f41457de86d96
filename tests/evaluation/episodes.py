"""Plays an episode against the diagnosis in process: texts, questions, answers, checks."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from rules.checks import order_checks
from rules.choosing.value import next_question
from rules.diagnosis import Diagnosis, Group, ImpossibleEvidenceError, diagnose
from rules.model import (
    ApartmentId,
    Evidence,
    Fact,
    HourlyWeather,
    Household,
    Reported,
    TopicId,
)

from .answers import MINUTES, answer_fact, gives
from .drawing import Drawn
from .technician import take_reading
from .weather import STEPS_PER_HOUR

__all__ = ["Asked", "Played", "Visit", "play", "visit"]

_MOST_QUESTIONS = 5
_KNOWN_FROM_HOMES = 3
_READ_MINUTES = 4.0
_VOLUNTEERS = {"q_read": 0.3, "q_set": 0.12}
_MOST_CHECKS = 12
_SAME_MINUTES = 60.0
_VERDICT = 0.9
_STEP_MINUTES = 60 / STEPS_PER_HOUR


@dataclass(frozen=True)
class Asked:
    """A usable answer, for those who judge with the simulator's own model."""

    home: int
    topic: TopicId
    step: int
    fact: Fact


@dataclass(frozen=True)
class Played:
    """What the diagnosis said at the end, and what was asked on the way."""

    diagnosis: Diagnosis | None
    evidence: tuple[Evidence, ...]
    asked: tuple[Asked, ...]
    questions: dict[int, int]
    impossible: int
    now: datetime


@dataclass(frozen=True)
class Visit:
    """A technician's way to a verdict."""

    minutes: float
    checks: int
    component: str | None
    reached: bool
    impossible: bool


@dataclass
class _Play:
    """The run of one episode: a heap of things to come, the evidence so far."""

    drawn: Drawn
    rng: np.random.Generator
    households: Sequence[Household]
    weather: Sequence[HourlyWeather]
    queue: list[tuple[float, int, str, int, TopicId | None]] = field(default_factory=list)
    evidence: list[Evidence] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    topics: dict[int, list[TopicId]] = field(default_factory=dict)
    known: dict[int, set[TopicId]] = field(default_factory=dict)
    impossible: int = 0
    count: int = 0
    last: tuple[int, float, Diagnosis | None] | None = None

    def at(self, minutes: float) -> datetime:
        """The instant so many minutes from the start of the days."""
        return self.drawn.days.start + timedelta(minutes=minutes)

    def later(self, minutes: float, what: str, home: int, topic: TopicId | None = None) -> None:
        """Something happens at a minute from the start."""
        self.count += 1
        heapq.heappush(self.queue, (minutes, self.count, what, home, topic))

    def learn(self, minutes: float, source: str, fact: Fact) -> None:
        """Add a fact to the evidence."""
        self.evidence.append(Evidence(source, self.at(minutes), fact))

    def think(self, minutes: float) -> Diagnosis | None:
        """Diagnose at a minute; a contradiction is counted, not hidden.

        Nothing new within the hour gives the same answer, near enough, and saves the time.
        """
        known = self.last
        if known and known[0] == len(self.evidence) and minutes - known[1] < _SAME_MINUTES:
            return known[2]
        self.last = (len(self.evidence), minutes, self._diagnosed(minutes))
        return self.last[2]

    def _diagnosed(self, minutes: float) -> Diagnosis | None:
        try:
            return diagnose(
                self.drawn.made.plant,
                self.evidence,
                self.households,
                self.weather,
                self.at(minutes),
            )
        except ImpossibleEvidenceError:
            self.impossible += 1
            return None


def play(drawn: Drawn) -> Played:
    """Texts come in, questions go out, answers come back, until the end of the episode."""
    house, people = drawn.house, drawn.people
    run = _Play(
        drawn,
        np.random.default_rng([drawn.seed, 7]),
        [
            Household(ApartmentId(n))
            for n, able in zip(house.names, people.reachable, strict=True)
            if able
        ],
        drawn.days.hourly(),
    )
    for k, complaint in enumerate(drawn.complaints):
        run.later(complaint.step * _STEP_MINUTES, "text", k)
    end = drawn.end * _STEP_MINUTES
    while run.queue and run.queue[0][0] <= end:
        minutes, _, what, number, topic = heapq.heappop(run.queue)
        _happen(run, minutes, what, number, topic)
    final = run.think(end)
    questions = {k: len(run.topics.get(k, [])) for k in range(len(drawn.complaints))}
    return Played(
        final, tuple(run.evidence), tuple(run.asked), questions, run.impossible, run.at(end)
    )


def _happen(run: _Play, minutes: float, what: str, number: int, topic: TopicId | None) -> None:
    if what == "text":
        _text(run, minutes, number)
    elif what == "turn":
        _turn(run, minutes, number)
    elif topic is not None:
        _answer(run, minutes, number, topic)


def _text(run: _Play, minutes: float, number: int) -> None:
    complaint = run.drawn.complaints[number]
    home = ApartmentId(run.drawn.house.names[complaint.home])
    run.learn(minutes, f"m_{home}", Reported(home, complaint.kinds, complaint.noise))
    run.topics[number], run.known[number] = [], set()
    if complaint.noise is not None:
        run.known[number].add(TopicId("q_noise"))
    for topic, share in _VOLUNTEERS.items():
        if run.rng.random() < share:
            _take(run, minutes, number, TopicId(topic))
    run.later(minutes + 1, "turn", number)


def _take(run: _Play, minutes: float, number: int, topic: TopicId) -> None:
    """The household says something usable about a topic."""
    home = run.drawn.complaints[number].home
    step = min(int(minutes / _STEP_MINUTES), run.drawn.days.steps - 1)
    fact = answer_fact(run.rng, run.drawn.world, home, topic, step)
    run.learn(minutes, f"m_{run.drawn.house.names[home]}_{topic}", fact)
    run.asked.append(Asked(home, topic, step, fact))
    run.known[number].add(topic)


def _turn(run: _Play, minutes: float, number: int) -> None:
    asked = run.topics[number]
    if len(asked) >= _MOST_QUESTIONS:
        return
    home = ApartmentId(run.drawn.house.names[run.drawn.complaints[number].home])
    diagnosis = run.think(minutes)
    if diagnosis is None or _known_to_us(diagnosis, home):
        return
    topic = next_question(diagnosis, home, run.known[number], asked)
    if topic is None:
        return
    asked.append(topic)
    run.later(minutes + MINUTES.get(topic, _READ_MINUTES), "answer", number, topic)


def _known_to_us(diagnosis: Diagnosis, home: ApartmentId) -> bool:
    """Three other homes have told the same already: nothing is asked."""
    group = next((g for g in diagnosis.groups if home in g.apartments), None)
    return group is not None and len(group.apartments) > _KNOWN_FROM_HOMES


def _answer(run: _Play, minutes: float, number: int, topic: TopicId) -> None:
    if gives(run.rng, topic):
        _take(run, minutes, number, topic)
    run.later(minutes + 1, "turn", number)


def visit(drawn: Drawn, played: Played, group: Group) -> Visit:
    """Make the proposed checks one by one until the top suspect's component is past doubt."""
    rng = np.random.default_rng([drawn.seed, 11])
    evidence = list(played.evidence)
    households = [
        Household(ApartmentId(n))
        for n, able in zip(drawn.house.names, drawn.people.reachable, strict=True)
        if able
    ]
    weather = drawn.days.hourly()
    diagnosis, members = played.diagnosis, set(group.apartments)
    minutes, made = 0.0, 0
    refused: set[str] = set()
    while made < _MOST_CHECKS and diagnosis is not None:
        here = max(diagnosis.groups, key=lambda g: len(members & set(g.apartments)))
        component, chance = _leading(here)
        if chance > _VERDICT:
            return Visit(minutes, made, component, reached=True, impossible=False)
        step = next((s for s in order_checks(diagnosis, here) if s.check not in refused), None)
        if step is None:
            return Visit(minutes, made, component, reached=False, impossible=False)
        minutes, made = minutes + step.minutes, made + 1
        found = take_reading(rng, drawn.world, drawn.end, step.check, step.component)
        refused.add(step.check)
        now = played.now + timedelta(minutes=minutes)
        evidence += [Evidence(f"f_{made}", now, f) for f in found]
        try:
            diagnosis = diagnose(drawn.made.plant, evidence, households, weather, now)
        except ImpossibleEvidenceError:
            return Visit(minutes, made, component, reached=False, impossible=True)
    component = None
    if diagnosis is not None:
        here = max(diagnosis.groups, key=lambda g: len(members & set(g.apartments)))
        component = _leading(here)[0]
    return Visit(minutes, made, component, reached=False, impossible=False)


def _leading(group: Group) -> tuple[str | None, float]:
    """The component that holds most of the suspicion."""
    by_component: dict[str, float] = {}
    for suspect in group.suspects:
        by_component[suspect.component] = (
            by_component.get(suspect.component, 0) + suspect.probability
        )
    if not by_component:
        return None, 0.0
    best = max(by_component, key=lambda c: (by_component[c], c))
    return best, by_component[best]
