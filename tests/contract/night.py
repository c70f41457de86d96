"""Plays stories against the program, the way somebody would who has only read its contract."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from program import Program
from tenants import HOMES, Story, Writer, answer_to, building, households, number_of

STEPS = 8  # quarters of an hour that are played


@dataclass
class Played:
    """What came of a story."""

    story: Story
    building: str
    numbers: dict[str, str]  # home -> mobile
    asked: dict[str, list[str]] = field(default_factory=dict)  # home -> topics, as they came
    ignored: dict[str, list[str]] = field(default_factory=dict)  # the same, of the silent
    complaints: dict[str, set[str | None]] = field(default_factory=dict)  # home -> ids named
    heard: dict[str, list[dict[str, Any]]] = field(default_factory=dict)  # home -> texts
    unanswered: list[str] = field(default_factory=list)  # said, and nothing came back
    tickets: list[dict[str, Any]] = field(default_factory=list)
    shared_homes: list[tuple[int, str]] = field(default_factory=list)  # (quarter, home) twice

    def writer_of(self, number: str) -> Writer | None:
        """Who writes from this number in this story."""
        home = next((h for h, n in self.numbers.items() if n == number), None)
        return next((w for w in self.story.writers if w.home == home), None)

    @property
    def component_rank(self) -> int | None:
        """Place of the right component among the components suspected, on its best ticket."""
        places = []
        for ticket in self.tickets:
            order = list(dict.fromkeys(s["component"] for s in ticket["suspects"]))
            places += [order.index(c) + 1 for c in order if c == self.story.component]
        return min(places, default=None)


class Night:
    """Several buildings with one story each, quarter by quarter."""

    def __init__(self, program: Program, stories: Sequence[Story]) -> None:
        self.program = program
        self.played = [
            Played(
                story,
                f"mill-{n + 1}",
                {home: number_of(12 * n + i) for i, home in enumerate(HOMES)},
            )
            for n, story in enumerate(stories)
        ]
        for n, played in enumerate(self.played):
            rows = households(played.building, 12 * n)
            program.load(building(played.building), rows, played.story.outdoor_f)
        self._read_lines = len(program.outbox())

    def play(self) -> list[Played]:
        """The evening; the clock moves in quarters of an hour."""
        for quarter in range(STEPS):
            for played in self.played:
                for writer in played.story.writers:
                    if quarter * 15 <= writer.after_minutes < (quarter + 1) * 15:
                        self._say(played, writer, writer.words)
            self._hear()
            self._count_homes(quarter)
            self.program.move(minutes=15)
        self._hear()
        for played in self.played:
            listed = self.program.get("/api/v1/tickets", building=played.building, state="open")
            played.tickets = [self.program.get(f"/api/v1/tickets/{t['id']}") for t in listed]
        return self.played

    def _count_homes(self, quarter: int) -> None:
        for played in self.played:
            listed = self.program.get("/api/v1/tickets", building=played.building, state="open")
            often = Counter(c for t in listed for c in t["complaints"])
            homes = Counter(a for t in listed for a in t["apartments"])
            played.shared_homes += [(quarter, x) for x, n in (often + homes).items() if n > 1]

    def _say(self, played: Played, writer: Writer, words: str) -> None:
        number = played.numbers[writer.home]
        before = len(self.program.outbox())
        if writer.door == "http":
            answer = self.program.text(number, words)
            said = answer["complaint"]
            in_file = [r["text"] for r in self.program.outbox()[before:] if r["to"] == number]
            assert in_file == [r["text"] for r in answer["replies"]]
            if not answer["replies"]:
                played.unanswered.append(words)
        else:
            row = wait_until_read(self.program, self.program.mail(number, words))
            assert row["state"] == "read", row
            said = row["complaint"]
        played.complaints.setdefault(writer.home, set()).add(said)

    def _hear(self) -> None:
        """Everybody answers what they were asked, until nobody is asked anything."""
        while True:
            lines = self.program.outbox()
            new, self._read_lines = lines[self._read_lines :], len(lines)
            if not new:
                return
            for line in new:
                self._answer(line)

    def _answer(self, line: dict[str, Any]) -> None:
        played = next(p for p in self.played if line["to"] in p.numbers.values())
        writer = played.writer_of(line["to"])
        assert writer is not None, f"a text to somebody who never wrote: {line}"
        played.heard.setdefault(writer.home, []).append(line)
        if line["asks"] is not None and not writer.answers:
            played.ignored.setdefault(writer.home, []).append(line["asks"]["topic"])
        elif line["asks"] is not None:
            played.asked.setdefault(writer.home, []).append(line["asks"]["topic"])
            self._say(played, writer, answer_to(played.story, writer, line["asks"]))


def wait_until_read(program: Program, sender_id: str) -> dict[str, Any]:
    """The inbox row of a mail, once it is no longer pending."""
    for _ in range(200):
        row = next((m for m in program.inbox() if m["id"] in {sender_id, sender_id[1:-1]}), None)
        if row is not None and row["state"] != "pending":
            return row
        time.sleep(0.05)
    raise AssertionError(f"{sender_id} is still pending after ten seconds")
