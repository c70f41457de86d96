"""Runs many episodes on all cores and reports; the same seed gives the same report."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from pathlib import Path

from rich.console import Console

from .drawing import draw
from .figures import reliability
from .picture import reliability_svg
from .report import Report, print_tables
from .scoring import EpisodeScore, score_episode

__all__ = ["Report", "evaluate", "print_report", "replay", "save_picture"]

_SEEDS_APART = 1_000_000
_MOST_WORKERS = 8
# A worker keeps what the diagnosis caches of every building; a fresh one frees it.
_EPISODES_A_WORKER = 5


def evaluate(
    episodes: int,
    seed: int,
    progress: Callable[[int, int], None],
    *,
    workers: int | None = None,
) -> Report:
    """Play so many episodes and score them.

    Args:
        episodes: how many.
        seed: another seed, another set; an episode's own seed stands in the report.
        progress: told (done, of all) after each.
        workers: processes; 1 plays in this one.
    """
    seeds = [seed * _SEEDS_APART + n for n in range(episodes)]
    count = workers or min(os.cpu_count() or 1, _MOST_WORKERS)
    found: dict[int, EpisodeScore | str] = {}
    if count == 1:
        for own in seeds:
            found[own] = _play_one(own)
            progress(len(found), episodes)
    else:
        context = multiprocessing.get_context("fork")
        with context.Pool(count, maxtasksperchild=_EPISODES_A_WORKER) as pool:
            for own, scored in pool.imap_unordered(_numbered, seeds):
                found[own] = scored
                progress(len(found), episodes)
    ordered = [(own, found[own]) for own in seeds]
    return Report(
        seed=seed,
        episodes=tuple(e for _, e in ordered if isinstance(e, EpisodeScore)),
        crashes=tuple((own, e) for own, e in ordered if isinstance(e, str)),
    )


def _numbered(seed: int) -> tuple[int, EpisodeScore | str]:
    return seed, _play_one(seed)


def _play_one(seed: int) -> EpisodeScore | str:
    """Score one episode, or say how it crashed: a crash of the diagnosis is a result too."""
    try:
        return score_episode(draw(seed))
    except Exception as error:  # noqa: BLE001 - one crash must not hide the other episodes
        return f"{type(error).__name__}: {error}"


def print_report(report: Report, console: Console) -> None:
    """All figures with counts and intervals, where it fails, and what to replay."""
    print_tables(report, console)


def save_picture(report: Report, path: Path) -> None:
    """The reliability curve of the chances stated for components."""
    pairs = [pair for e in report.episodes for pair in e.component_pairs]
    title = f"Chance that a component is at fault, {len(report.episodes)} episodes"
    path.write_text(reliability_svg(reliability(pairs), title), encoding="utf-8")


def replay(seed: int, console: Console) -> None:
    """Play one episode again and tell it: what broke, who wrote, what was said."""
    drawn = draw(seed)
    plant = drawn.made.plant
    console.print(
        f"{drawn.made.kind}, loops by {drawn.made.loops_by}, {len(plant.apartments)} homes"
    )
    for number, case in enumerate(drawn.cases):
        console.print(
            f"case {number}: {case.row.id} at {case.component}, {dict(case.amounts)}, step {case.step}"
        )
    for complaint, causes in zip(drawn.complaints, drawn.causes, strict=True):
        kinds = ", ".join(sorted(complaint.kinds))
        outdoor = round(float(drawn.days.outdoor_f[complaint.step]))
        home = drawn.house.names[complaint.home]
        console.print(
            f"step {complaint.step}, {outdoor} F: {home} writes {kinds}; cases {sorted(causes)}"
        )
    scored = score_episode(drawn)
    for score in scored.cases:
        console.print(f"{score.fault} at {score.component}: said {score.said}; {score.visit}")
