"""How long a text takes, beside two things everybody knows the price of, timed in the same run."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

from rapidfuzz import fuzz, process
from rich.console import Console
from rich.table import Table

from rules.reading import read

from .labelled import load_messages

__all__ = ["Pace", "ReadingBench", "bench_reading", "print_reading_bench"]

_TERMS = 300
_READER = "read"


@dataclass(frozen=True)
class Pace:
    """What one text costs."""

    what: str
    median_ms: float
    p95_ms: float


@dataclass(frozen=True)
class ReadingBench:
    """The reader and its yardsticks over the same messages in turn."""

    messages: int
    rounds: int
    first: Pace
    reader: Pace
    yardsticks: tuple[Pace, ...]

    def ratio(self, yardstick: Pace) -> float:
        """How many times the yardstick's median one reading takes."""
        return self.reader.median_ms / yardstick.median_ms


def bench_reading(folder: Path, rounds: int = 5) -> ReadingBench:
    """Time all messages of a folder; the first round is told apart, caches are cold in it."""
    texts = [m.text for path in sorted(folder.glob("*.jsonl")) for m in load_messages(path)]
    runners = {_READER: read, **_yardsticks(texts)}
    read("")  # The tables are loaded at start of the service, not by the first tenant.
    first = _round(texts, runners)
    times: dict[str, list[float]] = {what: [] for what in runners}
    for _ in range(rounds):
        for what, taken in _round(texts, runners).items():
            times[what] += taken
    return ReadingBench(
        messages=len(texts),
        rounds=rounds,
        first=_pace("read, words not met before", first[_READER]),
        reader=_pace(_READER, times[_READER]),
        yardsticks=tuple(_pace(what, times[what]) for what in runners if what != _READER),
    )


def print_reading_bench(bench: ReadingBench, console: Console) -> None:
    """Median and 95th percentile, and each yardstick as a ratio."""
    table = Table(title=f"{bench.messages} messages, {bench.rounds} rounds")
    for column in ("what", "median ms", "p95 ms", "one reading is"):
        table.add_column(column, justify="left" if column == "what" else "right")
    for pace in (bench.first, bench.reader, *bench.yardsticks):
        ratio = f"{bench.ratio(pace):.1f} times" if pace in bench.yardsticks else ""
        table.add_row(pace.what, f"{pace.median_ms:.3f}", f"{pace.p95_ms:.3f}", ratio)
    console.print(table)


def _yardsticks(texts: Sequence[str]) -> dict[str, Callable[[str], object]]:
    terms = _terms(texts)
    pattern = re.compile(r"\b(?:" + "|".join(map(re.escape, terms)) + r")\b", re.IGNORECASE)
    return {
        f"one regular expression of {len(terms)} terms": pattern.findall,
        f"rapidfuzz over {len(terms)} terms": lambda text: process.extractOne(
            text, terms, scorer=fuzz.partial_ratio
        ),
    }


def _terms(texts: Sequence[str]) -> list[str]:
    words = Counter(word for text in texts for word in re.findall(r"[^\W\d_]{3,}", text.lower()))
    return [word for word, _ in islice(words.most_common(), _TERMS)]


def _round(
    texts: Sequence[str], runners: dict[str, Callable[[str], object]]
) -> dict[str, list[float]]:
    times: dict[str, list[float]] = {what: [] for what in runners}
    for text in texts:
        for what, run in runners.items():
            start = perf_counter()
            run(text)
            times[what].append((perf_counter() - start) * 1000)
    return times


def _pace(what: str, times: Sequence[float]) -> Pace:
    return Pace(what, median(times), quantiles(times, n=20)[-1])
