"""Evidence as rows: facts to JSON and back, and the facts in one reading of a text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    EmitterHeat,
    Evidence,
    Fact,
    Found,
    Kind,
    NeighborSaid,
    Noise,
    Reported,
    RoomRead,
    Rooms,
    TopicId,
    Visited,
)
from rules.reading import Reading
from service.store.tables import FactRow

__all__ = ["AFTER", "evidence_from", "fact_body", "fact_in", "facts_in_reading", "known_topics"]

AFTER = "after"  # source of a reading made when the repair was done
HOT = {EmitterHeat.HOT: "hot", EmitterHeat.LUKEWARM: "warm", EmitterHeat.COLD: "cold"}
READ_OFF = frozenset({TopicId("q_read"), TopicId("q_set")})
SCREEN = frozenset({TopicId("q_screen")})
TEMPERATURES = frozenset({"q_read", "q_set", "q_temp2", "q_settle"})
ROOMS = {Rooms.ALL: "all", Rooms.SOME: "some"}


def fact_body(fact: Fact) -> dict[str, Any]:
    """A fact as JSON, without its apartment, which is a column."""
    match fact:
        case Reported():
            return {
                "type": "reported",
                "kinds": sorted(k.value for k in fact.kinds),
                "noise": fact.noise.value if fact.noise else None,
            }
        case Answered():
            return {"type": "answered", "topic": fact.topic, "means": fact.means}
        case RoomRead():
            return {"type": "room_read", "room_f": fact.room_f, "set_f": fact.set_f}
        case NeighborSaid():
            kind = fact.kind.value
            return {"type": "neighbor", "other": fact.other, "kind": kind, "same": fact.same}
        case Found():
            return {
                "type": "found",
                "check": fact.check,
                "component": fact.component,
                "value": fact.value,
                "unit": fact.unit,
                "calling": fact.calling,
                "outcome": fact.outcome,
            }
        case Visited():
            raise TypeError("a visit stands with its closing, not among the facts told")


def fact_in(row: FactRow) -> Fact | None:
    """The fact of a row; None while its home is not known yet."""
    body = dict(row.body)
    kind = body.pop("type")
    if kind == "found":
        body["check"] = CheckId(body["check"])
        body["component"] = ComponentId(body["component"])
        return Found(**body)
    if row.apartment is None:
        return None
    apartment = ApartmentId(row.apartment)
    if kind == "reported":
        noise = Noise(body["noise"]) if body["noise"] else None
        return Reported(apartment, frozenset(Kind(k) for k in body["kinds"]), noise)
    if kind == "answered":
        return Answered(apartment, TopicId(body["topic"]), body["means"])
    if kind == "neighbor":
        other, trouble = ApartmentId(body["other"]), Kind(body["kind"])
        return NeighborSaid(apartment, other, trouble, body["same"])
    return RoomRead(apartment, body["room_f"], body["set_f"])


def evidence_from(rows: Iterable[FactRow]) -> tuple[Evidence, ...]:
    """What the diagnosis is made from, oldest first."""
    ordered = sorted(rows, key=lambda row: (row.at, row.id))
    pairs = ((row, fact_in(row)) for row in ordered)
    return tuple(Evidence(row.source, row.at, fact) for row, fact in pairs if fact is not None)


def facts_in_reading(reading: Reading, apartment: str | None) -> tuple[Fact, ...]:
    """Everything a text says that the diagnosis can use."""
    home = ApartmentId(apartment or "")
    facts: list[Fact] = []
    if reading.kinds:
        facts.append(Reported(home, frozenset(reading.kinds), reading.noise))
    if reading.room_temp is not None or reading.setpoint is not None:
        facts.append(
            RoomRead(
                home,
                reading.room_temp.fahrenheit if reading.room_temp else None,
                reading.setpoint.fahrenheit if reading.setpoint else None,
            )
        )
    facts += [Answered(home, TopicId(t), m) for t, m in _answers(reading)]
    return tuple(facts)


def known_topics(facts: Iterable[Fact]) -> frozenset[TopicId]:
    """Questions that need not be asked because their answer is known.

    Whoever tells how warm it is and what is set has looked at a screen that shows it.
    """
    known = frozenset(TopicId(topic) for fact in facts for topic in _topics(fact))
    return known | SCREEN if known >= READ_OFF else known


def _topics(fact: Fact) -> Iterator[str]:
    match fact:
        case Answered():
            yield fact.topic
            yield from _implied(fact)
        case RoomRead():
            if fact.room_f is not None:
                yield "q_read"
            if fact.set_f is not None:
                yield "q_set"
        case Reported():
            # "A noise" in no known word leaves the question open.
            if fact.noise not in {None, Noise.OTHER}:
                yield "q_noise"
        case NeighborSaid():
            yield "q_neigh"
        case Found():
            return


def _implied(fact: Answered) -> Iterator[str]:
    """What an answer tells besides."""
    if fact.topic == "q_mode" and fact.means != "unknown":
        yield "q_screen"  # it shows the word that was read
    if fact.topic == "q_down" and fact.means in {"still_hot", "cooling"}:
        yield "q_set"  # as low as it goes


def _answers(reading: Reading) -> Iterator[tuple[str, str]]:
    told = {
        "q_hot": HOT.get(reading.emitter) if reading.emitter else None,
        "q_rooms": ROOMS.get(reading.rooms) if reading.rooms else None,
        "q_window": _window(reading.window_open),
        "q_screen": _screen(reading.thermostat_blank),
    }
    answer = reading.answer
    if answer is not None and answer.topic.startswith("q_"):
        told[answer.topic] = answer.means
    for topic, means in told.items():
        # Temperatures are stored as readings of the room; not being sure is no evidence at all.
        if means not in {None, "unknown"} and topic not in TEMPERATURES:
            yield topic, str(means)


def _window(is_open: bool | None) -> str | None:
    return None if is_open is None else ("open" if is_open else "closed")


def _screen(blank: bool | None) -> str | None:
    return None if blank is None else ("blank" if blank else "normal")
