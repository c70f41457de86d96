"""The way up from each home to what heats it, as a file states it, right or wrong.

Theory of operation
-------------------
From a home one goes to its loop, from the loop to what feeds it, and on through exchangers. The
way has to end at a heat source that nothing feeds. It may instead end at a name that is not
there, or come back to where it was: a cycle. In both cases no heat reaches the homes from which
the way leads there, and it is the broken place, not each of its homes, that wants putting right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rules.plant.files.fields import Record

__all__ = ["Supply", "feeding_key"]


def feeding_key(record: Record) -> str:
    """The key under which a loop or a heat source names what feeds it."""
    return "source" if "source" in record.values else "fed_by"


class Supply:
    """What feeds what, by id."""

    def __init__(self, loops: Iterable[Record], sources: Iterable[Record]) -> None:
        self.records: Mapping[str, Record] = {
            record["id"]: record for record in (*loops, *sources) if record["id"] is not None
        }

    def way_up(self, start: str | None) -> list[str]:
        """The loops and sources passed on the way up; a cycle ends with the name met twice."""
        way: list[str] = []
        passed: set[str] = set()
        at = start
        while at is not None and at in self.records:
            way.append(at)
            if at in passed:
                break
            passed.add(at)
            record = self.records[at]
            at = record[feeding_key(record)]
        return way

    def homes_on(self, homes: Iterable[Record]) -> dict[str, list[str]]:
        """By loop and source, the homes whose way up passes there."""
        found: dict[str, list[str]] = {}
        for home in homes:
            for name in dict.fromkeys(self.way_up(home["loop"])):
                found.setdefault(name, []).append(str(home["id"]))
        return found

    def cycles(self) -> list[list[str]]:
        """Each cycle once, from the first of its members in the file."""
        found: list[list[str]] = []
        settled: set[str] = set()
        for start in self.records:
            way = [] if start in settled else self.way_up(start)
            again = way.index(way[-1]) if way else 0
            if again < len(way) - 1 and way[-1] not in settled:
                found.append(way[again:-1])
            settled.update(way)
        return found
