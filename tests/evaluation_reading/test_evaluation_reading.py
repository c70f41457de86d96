"""The reading evaluation counts what a hand count gives, and says so in print."""

from __future__ import annotations

import json
import shutil
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console

from rules.reading import read

from . import bench_reading, evaluate_reading, print_reading_bench, print_reading_report
from .labelled import LABELS

_FIXTURES = Path(__file__).parents[2] / "fixtures" / "messages"
_NOTHING: dict[str, Any] = {
    "language": "en",
    "intent": "other",
    "kinds": [],
    "danger": False,
    "room_temp": None,
    "setpoint": None,
    "noise": None,
    "care": [],
    "emitter": None,
    "window_open": None,
    "thermostat_blank": None,
    "rooms": None,
}


def _folder(path: Path, *rows: dict[str, Any]) -> Path:
    lines = [json.dumps(_NOTHING | {"id": n} | row) for n, row in enumerate(rows, start=1)]
    (path / "small.jsonl").write_text("\n".join(lines), encoding="utf-8")
    return path


def _printed(report: Any, *, misses_of_scoring: bool = False) -> str:
    console = Console(file=StringIO(), width=160)
    print_reading_report(report, console, misses_of_scoring=misses_of_scoring)
    assert isinstance(console.file, StringIO)
    return console.file.getvalue()


def test_counts_are_those_made_by_hand(tmp_path: Path) -> None:
    """One kind found, one missed, one invented: precision, recall and F1 are a half each."""
    folder = _folder(
        tmp_path,
        {"text": "no heat", "intent": "complaint", "kinds": ["too_cold"]},
        {"text": "no heat at all", "intent": "complaint", "kinds": []},
        {"text": "hello", "kinds": ["leak"]},
    )
    kinds = evaluate_reading(folder).part("small").score("kinds")
    assert (kinds.right, kinds.said, kinds.wanted, kinds.agreed) == (1, 2, 2, 1)
    assert (kinds.precision, kinds.recall, kinds.f1) == (0.5, 0.5, 0.5)
    assert kinds.accuracy == pytest.approx(1 / 3)


def test_a_false_alarm_is_counted_among_harmless_messages(tmp_path: Path) -> None:
    """Of two harmless messages one is read as danger: the false alarm rate is a half."""
    gas = {"text": "I smell gas", "intent": "complaint", "kinds": ["gas_smell"]}
    folder = _folder(
        tmp_path,
        gas | {"danger": True},
        gas | {"text": "gas smell in the hall"},
        {"text": "hello"},
    )
    danger = evaluate_reading(folder).part("small").score("danger")
    assert (danger.recall, danger.false_alarms) == (1.0, 0.5)


def test_a_miss_names_its_message_and_falls_short_of_the_target(tmp_path: Path) -> None:
    """A danger that is not read is listed, and the part is said to be short of the target."""
    row = {"text": "nothing [new] here", "kinds": ["smoke"], "danger": True}
    report = evaluate_reading(
        _folder(tmp_path, row | {"intent": read("nothing [new] here").intent})
    )
    part = report.part("small")
    assert {miss.label for miss in part.misses} == {"kinds", "danger"}
    assert {"danger", "kinds"} <= set(part.short_of)
    printed = _printed(report)
    assert "small 1" in printed
    assert "nothing [new] here" in printed
    assert "short of the target in" in printed


def test_misses_of_a_scoring_part_are_kept_back_unless_asked_for(tmp_path: Path) -> None:
    """The texts of a scoring file are not printed by default, so that nobody tunes on them."""
    row = {"text": "the thing went bad", "kinds": ["smoke"], "danger": True}
    folder = _folder(tmp_path, row)
    (folder / "small.jsonl").rename(folder / "scoring_small.jsonl")
    report = evaluate_reading(folder)
    assert "the thing went bad" not in _printed(report)
    assert "the thing went bad" in _printed(report, misses_of_scoring=True)


def test_temperatures_are_compared_with_their_units(tmp_path: Path) -> None:
    """Fifteen degrees Celsius is not fifteen Fahrenheit."""
    row = {"text": "it is 15 C in here", "intent": "complaint", "kinds": ["too_cold"]}
    folder = _folder(tmp_path, row | {"room_temp": {"value": 15, "unit": "F"}})
    misses = evaluate_reading(folder).part("small").misses
    assert [miss.label for miss in misses] == ["room_temp"]
    assert (misses[0].wanted, misses[0].read) == (frozenset({"15 F"}), frozenset({"15 C"}))


@pytest.fixture(scope="module")
def deaf() -> Any:
    """All messages there are, read by somebody who hears nothing."""
    silence = read("")
    return evaluate_reading(_FIXTURES, lambda *_: silence)


def test_each_file_of_messages_is_a_part_of_its_own(deaf: Any) -> None:
    """Learned from, looked at, or kept for scoring."""
    assert {"building", "building_other_hand", "building_third_hand", "scoring_blind"} <= {
        part.name for part in deaf.parts
    }


def test_every_label_is_scored_and_printed(tmp_path: Path) -> None:
    """Also one that no message of a part has."""
    printed = _printed(evaluate_reading(_folder(tmp_path, {"text": "no heat"})))
    assert all(label in printed for label in LABELS)


def test_a_deaf_reader_is_short_of_every_target(deaf: Any) -> None:
    """The figures depend on the reader: one that hears nothing reaches no target but setpoints."""
    short = set(deaf.part("scoring_blind").short_of)
    assert {"danger", "kinds", "intent", "room_temp"} <= short


def test_a_folder_without_messages_is_an_error(tmp_path: Path) -> None:
    """A wrong folder does not look like a perfect score."""
    with pytest.raises(FileNotFoundError, match="no labelled messages"):
        evaluate_reading(tmp_path)


def test_the_bench_times_reader_and_yardsticks_over_the_same_messages(tmp_path: Path) -> None:
    """Medians are under their 95th percentiles, and ratios are of medians of one run."""
    shutil.copy(_FIXTURES / "building_other_hand.jsonl", tmp_path)
    bench = bench_reading(tmp_path, rounds=1)
    assert len(bench.yardsticks) == 2
    for pace in (bench.first, bench.reader, *bench.yardsticks):
        assert 0 < pace.median_ms <= pace.p95_ms
    first = bench.yardsticks[0]
    assert bench.ratio(first) == pytest.approx(bench.reader.median_ms / first.median_ms)
    console = Console(file=StringIO(), width=120)
    print_reading_bench(bench, console)
    assert isinstance(console.file, StringIO)
    assert "300 terms" in console.file.getvalue()
