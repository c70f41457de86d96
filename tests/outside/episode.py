"""One episode: a building breaks, people write, the service is told and asked."""

from __future__ import annotations

import copy
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from numpy.random import Generator

from .breaks import Break, draw_break
from .door import Door
from .plants import Json, Plant, random_plant
from .tenants import Person, Trouble, answer, first_text, notice, people, reply
from .world import STEP, Weather, World, local_hour

__all__ = ["Episode", "Said", "first_of_winter", "play"]

_WARM_UP, _LIVE = timedelta(days=4), timedelta(hours=40)
_LOOK_AT_CLOCK = timedelta(minutes=10)
_SENT_AFTER_HOURS = (2.5, 5.0, 9.0)
_KEPT_TURNED = timedelta(hours=1)
_MEANS_F = {50.0: 0.22, 40.0: 0.3, 28.0: 0.33, 15.0: 0.15}
_LINE = "+12125550199"
# Places of what is broken at once, with weights; the empty one is a false report.
_MIXES: dict[tuple[str, ...], float] = {
    ("home",): 0.38,
    ("loop",): 0.22,
    ("transformer",): 0.08,
    ("source",): 0.18,
    ("home", "home"): 0.04,
    ("home", "loop"): 0.04,
    ("home", "source"): 0.02,
    ("loop", "loop"): 0.02,
    (): 0.02,
}


@dataclass
class Said:
    """One line of a conversation, for the reader of a report."""

    at: datetime
    home: str
    way: str  # in | out
    text: str
    topic: str = ""


@dataclass
class Episode:
    """What happened, for scoring and for the reader; tickets as they stand when somebody is sent."""

    number: int
    plant: Plant
    world: World
    breaks: list[Break]
    outdoor_f: float
    said: list[Said] = field(default_factory=list)
    complaint_home: dict[str, int] = field(default_factory=dict)
    complaint_about: dict[str, str] = field(default_factory=dict)
    questions: dict[str, int] = field(default_factory=dict)
    tickets: list[Json] = field(default_factory=list)
    closed: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass
class _Due:
    """A text that a person will send."""

    at: datetime
    person: Person
    topic: str
    choices: Sequence[dict[str, str]]


def play(rng: Generator, door: Door, number: int, start: datetime) -> Episode:
    """Live through one episode up to the hour when somebody is sent."""
    episode, persons, ahead = _set_up(rng, number, start)
    _tell(door, episode, persons, start)
    ends = ahead[0].at + timedelta(hours=float(rng.choice(_SENT_AFTER_HOURS)))
    talk = _Talk(rng, door, episode, persons, start)
    at = looked = start
    while at < ends:
        episode.world.step(at)
        at += STEP
        if talk.busy(at) or (ahead and ahead[0].at <= at) or at - looked >= _LOOK_AT_CLOCK:
            talk.move_clock(at)
            looked = at
        while ahead and ahead[0].at <= at:
            talk.complain(ahead.pop(0), at)
        talk.answer_all(at)
    talk.move_clock(at)
    name = episode.plant.file["building"]
    episode.tickets = door.call("GET", f"/tickets?building={name}&state=open", "truck")
    return episode


def first_of_winter(number: int) -> datetime:
    """Start of an episode: four days apart, November to March, at six in the morning there."""
    day = datetime(2025, 11, 3, 11, tzinfo=UTC)
    for _ in range(number):
        day += timedelta(days=4)
        if 4 <= day.month <= 10:
            day = day.replace(month=11, day=3)
    return day


def _set_up(
    rng: Generator, number: int, start: datetime
) -> tuple[Episode, list[Person], list[Trouble]]:
    """Draw until somebody would write; sudden faults begin at ``start``."""
    mixes, weights = list(_MIXES), list(_MIXES.values())
    while True:
        plant = random_plant(rng, number)
        places = mixes[int(rng.choice(len(mixes), p=[w / sum(weights) for w in weights]))]
        breaks = [b for place in places if (b := draw_break(rng, plant, place)) is not None]
        if len(breaks) < len(places):
            continue
        mean = float(rng.choice(list(_MEANS_F), p=list(_MEANS_F.values())) + rng.uniform(-3, 3))
        weather = _weather(mean, float(rng.uniform(-0.15, 0.1)), start)
        world = World(rng, plant, weather, sunny=bool(rng.random() < 0.5))
        persons = people(rng, len(plant.homes), number)
        world.breaks = [b for b in breaks if b.old]
        at = start - _WARM_UP
        while at < start:
            world.step(at)
            at += STEP
        world.breaks = breaks
        ahead = _who_writes(rng, copy.deepcopy(world), persons, start)
        if ahead:
            return Episode(number, plant, world, breaks, mean), persons, ahead


def _weather(mean: float, drift: float, start: datetime) -> Weather:
    def outdoor(at: datetime) -> float:
        hours = max(0.0, (at - start).total_seconds() / 3600)
        return mean + (4.2 if 9 < local_hour(at) < 20 else -2.1) + drift * hours

    return outdoor


def _who_writes(
    rng: Generator, world: World, persons: Sequence[Person], start: datetime
) -> list[Trouble]:
    """The first trouble that each home would write about; a false report where all is well."""
    found: dict[int, Trouble] = {}
    at = start
    while at < start + _LIVE:
        world.step(at)
        for person in persons:
            if person.home not in found and (about := notice(rng, world, person, at)):
                found[person.home] = Trouble(at, person.home, about)
        at += STEP
    if not world.breaks and not found:
        home = int(rng.integers(len(persons)))
        about = str(rng.choice(["cold", "hot"]))
        found[home] = Trouble(start + timedelta(hours=14), home, about)
    return sorted(found.values(), key=lambda t: t.at)


def _tell(door: Door, episode: Episode, persons: Sequence[Person], start: datetime) -> None:
    """Send the building, its people and the weather."""
    plant, weather = episode.plant, episode.world.weather
    name = plant.file["building"]
    reply = door.call("PUT", f"/buildings/{name}", "owner", plant.file)
    if "errors" in reply:
        episode.notes.append(f"building refused: {reply['errors']}")
    households = [
        {
            "building": name,
            "apartment": plant.homes[p.home],
            "name": "Tenant",
            "mobile": p.mobile,
            "email": "",
            "language": p.language,
            "care": p.care if p.home % 2 else "",
        }
        for p in persons
    ]
    door.call("PUT", f"/buildings/{name}/households", "owner", households)
    hours = [start + timedelta(hours=h) for h in range(-96, 120)]
    body = {"hours": [{"at": h.isoformat(), "outdoor_f": round(weather(h), 1)} for h in hours]}
    door.call("PUT", f"/weather/{plant.file['weather_station']}", "owner", body)


class _Talk:
    """The texts of an episode, both ways."""

    def __init__(
        self,
        rng: Generator,
        door: Door,
        episode: Episode,
        persons: Sequence[Person],
        start: datetime,
    ) -> None:
        self.rng, self.door, self.episode, self.persons = rng, door, episode, persons
        self.world, self.start = episode.world, start
        self.by_mobile = {p.mobile: p for p in persons}
        self.due: list[_Due] = []
        self.sent = 0

    def busy(self, at: datetime) -> bool:
        return any(due.at <= at for due in self.due)

    def move_clock(self, at: datetime) -> None:
        """Let the service's time pass; what it sends by itself is read by its tenants."""
        moved = self.door.call("PUT", "/clock", "owner", {"now": at.isoformat()})
        for text in moved.get("sent", []):
            self._read(text, at)

    def complain(self, trouble: Trouble, at: datetime) -> None:
        person = self.persons[trouble.home]
        self.episode.complaint_about[self.episode.plant.homes[trouble.home]] = trouble.about
        self._send(person, first_text(self.rng, self.world, person, trouble.about), at)

    def answer_all(self, at: datetime) -> None:
        ready = [due for due in self.due if due.at <= at]
        for due in ready:
            self.due.remove(due)
            means = answer(self.rng, self.world, due.person, due.topic, at - self.start)
            said, fits = reply(self.rng, due.person, means, due.choices)
            if not fits:
                offered = [c["means"] for c in due.choices]
                self.episode.notes.append(f"{due.topic}: no choice for {means} in {offered}")
            self._send(due.person, said, at, due.topic)

    def _send(self, person: Person, said: str, at: datetime, topic: str = "") -> None:
        self.sent += 1
        name = f"{self.episode.number}-{self.sent}"
        body = {"id": name, "from": person.mobile, "to": _LINE, "text": said}
        home = self.episode.plant.homes[person.home]
        self.episode.said.append(Said(at, home, "in", said, topic))
        got = self.door.call("POST", "/texts", "gateway", body | {"sent_at": at.isoformat()})
        if "replies" not in got:
            self.episode.notes.append(f"text {said!r} answered {got}")
            return
        if got.get("complaint"):
            self.episode.complaint_home[got["complaint"]] = person.home
        reading = got.get("reading") or {}
        unread = not reading.get("answer") if topic.startswith("q_") else False
        if unread or (not topic and reading.get("intent") != "complaint"):
            about = reading.get("intent"), reading.get("kinds")
            self.episode.notes.append(f"not understood: {topic} {said!r} -> {about}")
        for text in got["replies"]:
            self._read(text, at)

    def _read(self, text: dict[str, Any], at: datetime) -> None:
        person = self.by_mobile.get(text["to"])
        if person is None:
            return
        asks = text.get("asks") or {}
        topic, home = str(asks.get("topic", "")), self.episode.plant.homes[person.home]
        self.episode.said.append(Said(at, home, "out", str(text["text"]), topic))
        if not topic:
            self._turn(person, str(text["text"]), at)
            return
        if topic.startswith("q_"):
            self.episode.questions[home] = self.episode.questions.get(home, 0) + 1
        if self.rng.random() < person.silent:
            return
        wait = timedelta(minutes=1 + float(self.rng.exponential(person.reply_minutes)))
        self.due = [d for d in self.due if (d.person, d.topic) != (person, topic)]
        self.due.append(_Due(at + wait, person, topic, asks.get("choices", [])))

    def _turn(self, person: Person, text: str, at: datetime) -> None:
        """Do as told with the thermostat: most do."""
        down = re.search(r"all the way down|m[ií]nimo", text)
        up = re.search(r"set the thermostat to|Ponga el termostato en", text)
        if (down or up) and self.rng.random() > max(0.1, person.silent / 2):
            degrees = 50.0 if down else float(self.world.shown()[person.home]) + 5.0
            self.world.turned[person.home] = (degrees, at + _KEPT_TURNED)
