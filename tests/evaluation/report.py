"""The report of an evaluation as tables: everybody side by side, where it fails, what to replay."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.table import Table

from .figures import Share, brier, mean_of, median_of, reliability, share
from .plants import SERIES
from .scoring import CaseScore, EpisodeScore, Judged

__all__ = ["Report", "print_tables"]

_JUDGES = ("diagnosis", "each alone", "three on a loop", "best possible")
_MOST_MISSES = 40


@dataclass(frozen=True)
class Report:
    """All episodes of a run, in order of their seeds."""

    seed: int
    episodes: tuple[EpisodeScore, ...]
    crashes: tuple[tuple[int, str], ...]

    @property
    def cases(self) -> list[CaseScore]:
        """Every breakdown that somebody complained of."""
        return [c for e in self.episodes for c in e.cases]

    def judged(self, judge: str, cases: Sequence[CaseScore] | None = None) -> list[Judged]:
        """How one judge did, where it judged."""
        return [c.judged[judge] for c in (cases or self.cases) if judge in c.judged]

    def merged(self, judge: str) -> Share:
        """Tickets that hold complaints of different causes."""
        if judge == "diagnosis":
            return Share(
                sum(e.merged for e in self.episodes), sum(e.tickets for e in self.episodes)
            )
        pairs = [e.rival_merged[judge] for e in self.episodes if judge in e.rival_merged]
        return Share(sum(m for m, _ in pairs), sum(n for _, n in pairs))


def print_tables(report: Report, console: Console) -> None:
    """Everything, the summary first."""
    console.print(_summary(report))
    console.print(_own_figures(report))
    console.print(_where(report, "topology", lambda c: c.topology))
    console.print(_where(report, "plant", _plant))
    console.print(_where(report, "component", lambda c: c.at))
    console.print(_where(report, "reach", lambda c: "shared" if c.shared else "one home"))
    console.print(_worst_faults(report))
    console.print(_calibration(report))
    console.print(_misses(report))
    for seed, what in report.crashes:
        console.print(f"episode {seed} crashed: {what}")


def _summary(report: Report) -> Table:
    table = Table(title=f"{len(report.episodes)} episodes, seed {report.seed}")
    table.add_column("figure (95 % interval)")
    for judge in _JUDGES:
        table.add_column(judge)
    rows: dict[str, Callable[[str], str]] = {
        "right component first": lambda j: str(share(x.first for x in report.judged(j))),
        "right component in first three": lambda j: str(share(x.three for x in report.judged(j))),
        "right fault in first three": lambda j: str(share(x.fault_three for x in report.judged(j))),
        "shared fault is one ticket": lambda j: str(share(x.one_ticket for x in report.judged(j))),
        "tickets of different causes": lambda j: str(report.merged(j)),
        "needed part on the load list": lambda j: str(
            share(x.part_loaded for x in report.judged(j))
        ),
        "cost of the load list, dollars": lambda j: mean_of(
            [x.load_cost for x in report.judged(j)], "{:.0f}".format
        ),
    }
    for name, of in rows.items():
        table.add_row(name, *(of(j) for j in _JUDGES))
    table.caption = (
        "best possible: the simulator's own model, knowing onset, set points and walls; "
        "episodes with one cause only. Rivals know the simulator's true rates."
    )
    return table


def _own_figures(report: Report) -> Table:
    table = Table(title="The diagnosis alone")
    table.add_column("figure")
    table.add_column("value")
    cases, episodes = report.cases, report.episodes
    questions = [q for c in cases for q in c.questions]
    visits = [c.visit for c in cases if c.visit is not None]
    two = [e for e in episodes if e.causes_heard > 1]
    single = [c for e in episodes if e.causes_heard == 1 for c in e.cases]
    right = [c.visit.component == c.component for c in cases if c.visit is not None]
    table.add_row("questions a complaint, median", median_of(questions))
    table.add_row("questions a complaint, mean", mean_of(questions))
    table.add_row("minutes of checks to a verdict, median", median_of([v.minutes for v in visits]))
    table.add_row("minutes of checks to a verdict, mean", mean_of([v.minutes for v in visits]))
    table.add_row("checks, mean", mean_of([float(v.checks) for v in visits]))
    table.add_row("verdict past 90 %", str(share(v.reached for v in visits)))
    table.add_row("leading component after the checks is right", str(share(right)))
    sure = [c.visit.component == c.component for c in cases if c.visit and c.visit.reached]
    table.add_row("of verdicts past 90 %, right", str(share(sure)))
    table.add_row(
        "right first three, one cause", str(share(c.judged["diagnosis"].three for c in single))
    )
    table.add_row(
        "two causes heard: episodes with a false merge", str(share(e.merged > 0 for e in two))
    )
    idle = Share(sum(e.merged_idle for e in episodes), sum(e.tickets for e in episodes))
    table.add_row("tickets that took in a complaint of no cause", str(idle))
    table.add_row("contradictions raised", str(sum(e.impossible for e in episodes)))
    table.add_row("contradictions on the visit", str(sum(v.impossible for v in visits)))
    table.add_row("parts on the load list, mean", mean_of([float(c.load_items) for c in cases]))
    table.add_row("draws in which nobody wrote", str(sum(e.silent_draws for e in episodes)))
    return table


def _where(report: Report, name: str, key: Callable[[CaseScore], str]) -> Table:
    table = Table(title=f"By {name}")
    for column in (
        name,
        "component first",
        "in first three",
        "fault in three",
        "best possible in three",
        "one ticket",
        "part loaded",
    ):
        table.add_column(column)
    for value in sorted({key(c) for c in report.cases}):
        here = [c for c in report.cases if key(c) == value]
        own = report.judged("diagnosis", here)
        table.add_row(
            value,
            str(share(x.first for x in own)),
            str(share(x.three for x in own)),
            str(share(x.fault_three for x in own)),
            str(
                share(c.judged["best possible"].three for c in here if "best possible" in c.judged)
            ),
            str(share(x.one_ticket for x in own)),
            str(share(x.part_loaded for x in own)),
        )
    return table


def _plant(case: CaseScore) -> str:
    """What is rare among heating plants, and all others."""
    if case.topology.startswith(SERIES):
        return "one pipe through all homes"
    return "boilers side by side" if case.topology.endswith("cascade") else "all others"


def _worst_faults(report: Report) -> Table:
    table = Table(title="Faults missed most (component not in the first three)")
    for column in ("fault", "in first three", "best possible", "said instead"):
        table.add_column(column)
    faults = {c.fault for c in report.cases}
    rows = []
    for fault in faults:
        here = [c for c in report.cases if c.fault == fault]
        missed = [c for c in here if not c.judged["diagnosis"].three]
        if missed:
            instead = [c.said[0][0] for c in missed if c.said]
            often = sorted(set(instead), key=lambda f: (-instead.count(f), f))[:3]
            ceiling = share(
                c.judged["best possible"].three for c in here if "best possible" in c.judged
            )
            rows.append(
                (len(missed), fault, Share(len(here) - len(missed), len(here)), ceiling, often)
            )
    for _, fault, caught, ceiling, often in sorted(rows, key=lambda r: (-r[0], r[1]))[:25]:
        table.add_row(fault, str(caught), str(ceiling), ", ".join(often))
    return table


def _calibration(report: Report) -> Table:
    by_component = [p for e in report.episodes for p in e.component_pairs]
    by_fault = [p for e in report.episodes for p in e.fault_pairs]
    table = Table(title="How often a stated chance was so")
    for column in ("component: stated", "seen", "fault: stated", "seen"):
        table.add_column(column)
    left, right = reliability(by_component), reliability(by_fault)
    for n in range(max(len(left), len(right))):
        cells = []
        for bins in (left, right):
            cells += [f"{bins[n].stated:.2f}", str(bins[n].seen)] if n < len(bins) else ["", ""]
        table.add_row(*cells)
    scores = f"component {brier(by_component):.3f}, fault {brier(by_fault):.3f}"
    table.caption = f"Brier score: {scores} (0 is perfect)"
    return table


def _misses(report: Report) -> Table:
    missed = [c for c in report.cases if not c.judged["diagnosis"].three]
    table = Table(title=f"Missed {len(missed)} (the first {_MOST_MISSES}); replay by its seed")
    for column in ("seed", "truth", "also broken", "texts", "said", "best possible had it"):
        table.add_column(column)
    for c in missed[:_MOST_MISSES]:
        said = "; ".join(f"{f} {where} {p:.2f}" for f, where, p in c.said[:3])
        ceiling = c.judged.get("best possible")
        had = "-" if ceiling is None else ("yes" if ceiling.three else "no")
        truth = f"{c.fault} {c.component} ({c.topology})"
        table.add_row(str(c.seed), truth, c.together_with, str(c.complaints), said, had)
    return table
