"""Plays the night: moves the clock, brings texts, and lets people answer what they are asked."""

from __future__ import annotations

import csv
import heapq
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import yaml

from service.demo.script import Script
from service.demo.wire import Wire

__all__ = ["Happening", "Player"]

# How long people take to answer a text (invented).
_ANSWER_AFTER = timedelta(minutes=3)
_STEP = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Happening:
    """Something to show while the night is played: a text in or out."""

    at: datetime
    outward: bool
    number: str
    text: str


@dataclass(order=True, slots=True)
class _Due:
    at: datetime
    order: int
    sender: str = field(compare=False)
    via: str = field(compare=False)
    text: str = field(compare=False)


class Player:
    """One playing of a script against one service."""

    def __init__(
        self, script: Script, wire: Wire, outbox: Path, *, intake: str, domain: str
    ) -> None:
        """Nothing is sent yet."""
        self._script, self._wire, self._outbox = script, wire, outbox
        self._intake, self._domain = intake, domain
        self._answers: dict[str, dict[str, str]] = {}
        self._via: dict[str, str] = {}
        self._due: list[_Due] = []
        self._count = 0
        self._read_lines = 0
        self._now = script.starts

    def set_the_stage(self) -> None:
        """Weather, clock, buildings and households through the owner's calls."""
        self._wire.call("owner", "PUT", "/api/v1/clock", {"now": self._script.starts.isoformat()})
        stations = set()
        for path in self._script.building_files:
            document = yaml.safe_load(path.read_text(encoding="utf-8"))
            stations.add(document["weather_station"])
            self._wire.call(
                "owner", "PUT", f"/api/v1/buildings/{document['building']}", _plain(document)
            )
        for building, rows in _households(self._script.households).items():
            self._wire.call("owner", "PUT", f"/api/v1/buildings/{building}/households", rows)
        for station in sorted(stations):
            self._wire.call(
                "owner", "PUT", f"/api/v1/weather/{station}", {"hours": list(self._script.weather)}
            )

    def play(self, progress: Callable[[datetime], None]) -> Iterator[Happening]:
        """The night from start to end; ``progress`` is told the time as it passes."""
        for line in self._script.lines:
            self._push(line.at, line.sender, line.via, line.text)
            self._answers.setdefault(line.sender, {}).update(line.answers)
            self._via[line.sender] = line.via
        while self._due:
            due = heapq.heappop(self._due)
            step = self._now + _STEP
            if due.at > step:
                # Timers may bring up questions on the way; people answer them when they come.
                heapq.heappush(self._due, due)
                yield from self._move(step)
                continue
            yield from self._move(due.at)
            progress(due.at)
            yield Happening(due.at, False, due.sender, due.text)
            self._bring(due)
            yield from self._listen(due.at)
        while self._now < self._script.ends:
            yield from self._move(min(self._now + _STEP, self._script.ends))
            progress(self._now)

    def _move(self, to: datetime) -> Iterator[Happening]:
        self._now = max(to, self._now)
        self._wire.call("owner", "PUT", "/api/v1/clock", {"now": self._now.isoformat()})
        yield from self._listen(self._now)

    def _bring(self, due: _Due) -> None:
        self._count += 1
        message_id = f"<night-{self._count}@{self._domain}>"
        if due.via == "smtp":
            self._wire.mail(
                sender=due.sender,
                intake=self._intake,
                domain=self._domain,
                text=due.text,
                message_id=message_id,
            )
            self._wire.wait_until_read(message_id)
            return
        body = {
            "id": message_id,
            "from": due.sender,
            "to": "+12125550199",
            "text": due.text,
            "sent_at": due.at.isoformat(),
        }
        self._wire.call("gateway", "POST", "/api/v1/texts", body)

    def _listen(self, now: datetime) -> Iterator[Happening]:
        """What went out since the last look; questions are answered a little later."""
        for sent in self._new_lines():
            yield Happening(datetime.fromisoformat(sent["sent_at"]), True, sent["to"], sent["text"])
            asks = sent.get("asks")
            answer = self._answers.get(sent["to"], {}).get(asks["topic"]) if asks else None
            if answer is not None:
                self._push(now + _ANSWER_AFTER, sent["to"], self._via[sent["to"]], answer)

    def _new_lines(self) -> list[dict[str, Any]]:
        if not self._outbox.exists():
            return []
        lines = self._outbox.read_text(encoding="utf-8").splitlines()
        new, self._read_lines = lines[self._read_lines :], len(lines)
        return [json.loads(line) for line in new]

    def _push(self, at: datetime, sender: str, via: str, text: str) -> None:
        self._count += 1
        heapq.heappush(self._due, _Due(at, self._count, sender, via, text))


def _plain(document: dict[str, Any]) -> dict[str, Any]:
    """A YAML document as JSON has it: dates as text."""
    plain: dict[str, Any] = json.loads(json.dumps(document, default=str))
    return plain


def _households(path: Path) -> dict[str, list[dict[str, str]]]:
    rows: dict[str, list[dict[str, str]]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            rows.setdefault(row["building"], []).append(row)
    return rows
