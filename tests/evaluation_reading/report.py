"""The report of a reading evaluation as tables: a summary, every value, and what was missed."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from .scoring import MOST_FALSE_ALARMS, TARGETS, LabelScore, Miss, PartScore, ReadingReport

__all__ = ["print_reading_report"]


def print_reading_report(
    report: ReadingReport, console: Console, *, values: bool = True, misses_of_scoring: bool = False
) -> None:
    """Every part: its labels, on request each of their values, and the misses.

    Nobody should tune on what is for scoring: those misses are printed only when asked for.
    """
    for part in report.parts:
        console.print(_labels(part))
        if values:
            console.print(_values(part))
        if part.misses and (misses_of_scoring or not part.is_for_scoring):
            console.print(_misses(part))
        console.print(Text(_verdict(part)))


def _labels(part: PartScore) -> Table:
    table = Table(title=f"{part.name}: {part.messages} messages, label by label")
    for column in ("label", "accuracy", "precision", "recall", "F1", "labelled", "read", "target"):
        table.add_column(column, justify="left" if column in {"label", "target"} else "right")
    for score in part.scores:
        if score.value is None:
            table.add_row(
                score.label, f"{score.accuracy:.3f}", *_figures(score), _target(score.label)
            )
    alarms = part.score("danger").false_alarms
    table.add_row(
        "false alarms", f"{alarms:.3f}", "", "", "", "", "", f"at most {MOST_FALSE_ALARMS:g}"
    )
    return table


def _values(part: PartScore) -> Table:
    table = Table(title=f"{part.name}: value by value")
    for column in ("label", "value", "precision", "recall", "F1", "labelled", "read"):
        table.add_column(column, justify="left" if column in {"label", "value"} else "right")
    for score in part.scores:
        if score.value is not None:
            table.add_row(score.label, score.value, *_figures(score))
    return table


def _misses(part: PartScore) -> Table:
    table = Table(title=f"{part.name}: {len(part.misses)} labels read differently")
    for column in ("message", "label", "should be", "was read as", "text"):
        table.add_column(column, overflow="fold")
    for miss in part.misses:
        # A tenant's square brackets are no markup.
        table.add_row(*(Text(cell) for cell in _miss_row(miss)))
    return table


def _miss_row(miss: Miss) -> tuple[str, str, str, str, str]:
    return miss.message, miss.label, _said(miss.wanted), _said(miss.read), miss.text


def _figures(score: LabelScore) -> tuple[str, str, str, str, str]:
    return (
        f"{score.precision:.3f}",
        f"{score.recall:.3f}",
        f"{score.f1:.3f}",
        str(score.wanted),
        str(score.said),
    )


def _target(label: str) -> str:
    figure, least = TARGETS.get(label, ("", 0.0))
    return f"{figure} at least {least:g}" if figure else ""


def _verdict(part: PartScore) -> str:
    if part.short_of:
        return f"{part.name} is short of the target in: {', '.join(part.short_of)}"
    return f"{part.name} reaches every target"


def _said(values: frozenset[str]) -> str:
    return ", ".join(sorted(values)) or "nothing"
