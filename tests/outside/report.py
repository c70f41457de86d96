"""Play many episodes and tell what was found: figures, and each episode for the reader."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from .door import Door
from .episode import Episode, first_of_winter, play
from .score import CauseScore, Totals, count
from .technician import visit

__all__ = ["evaluate", "run", "table"]

_BINS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 1.01)
_PLACES = ("home", "loop", "transformer", "source")
_OPENS = datetime(2025, 11, 1, tzinfo=UTC)


def evaluate(episodes: int, seed: int, tell: Callable[[str], object]) -> None:
    """Play on a service of our own; each episode and then the figures go line by line to ``tell``."""
    with Door(_OPENS) as door:
        totals = run(door, episodes, seed, tell)
        for line in (*table(totals), *_of_door(door)):
            tell(line)


def run(door: Door, episodes: int, seed: int, tell: Callable[[str], object]) -> Totals:
    """Play episodes one after another; the door's clock must not be past November 2025."""
    totals = Totals()
    for number in range(episodes):
        rng = np.random.default_rng([seed, number])
        episode = play(rng, door, number, first_of_winter(number))
        rows = count(episode, totals)
        for row in rows:
            _repair(rng, door, episode, row)
        for line in _told(episode, rows):
            tell(line)
    return totals


def _repair(rng: np.random.Generator, door: Door, episode: Episode, row: CauseScore) -> None:
    """Check, then close with what was wrong; a ticket of two causes is closed by the first."""
    if any(row.ticket["id"] == closed for closed in episode.closed):
        return
    row.visit = visit(rng, door, episode.world, row.ticket)
    known = [c for c in row.cause.components if c in row.components]
    body = {
        "fault": row.cause.fault,
        "component": (known or row.cause.components)[0],
        "parts": [],
        "installed": None,
        "note": "",
    }
    reply = door.call("POST", f"/tickets/{row.ticket['id']}/close", "truck", body)
    episode.closed.append(row.ticket["id"])
    if reply.get("state") != "closed":
        episode.notes.append(f"close refused: {body} {str(reply)[:200]}")


def table(totals: Totals) -> Iterator[str]:
    """The figures of a run, a line each."""
    causes = totals.causes
    shared = [c for c in causes if c.cause.place != "home" and c.homes > 1]
    sure = [c.verdict for c in causes if c.verdict]
    minutes = [c.visit.minutes for c in causes if c.visit and c.visit.verdict]
    said = np.array([p for p, _ in totals.chances])
    came = np.array([hit for _, hit in totals.chances], dtype=np.float64)
    rows = {
        "causes written about": str(len(causes)),
        "right component first": _share(c.right_within(1) for c in causes),
        "right component in the first three": _share(c.right_within(3) for c in causes),
        "right fault first": _share(c.fault_within(1) for c in causes),
        "right fault in the first three": _share(c.fault_within(3) for c in causes),
        "shared fault is one ticket": _share(c.tickets == 1 for c in shared),
        "tickets that mix causes": f"{totals.mixed} of {totals.tickets}",
        "needed part on the load list": _share(c.part for c in causes if c.part is not None),
        "questions a complaint, mean": f"{np.mean(totals.questions or [0]):.2f}",
        "Brier score of components": f"{np.mean((said - came) ** 2):.3f}" if len(said) else "-",
        "checks came to a verdict past 0.9": f"{len(sure)} of {len(causes)}",
        "verdict right: component": _share(right for right, _ in sure),
        "verdict right: fault": _share(fault for _, fault in sure),
        "minutes to a verdict, median": f"{np.median(minutes or [0]):.0f}",
    }
    for place in _PLACES:
        of = [c for c in causes if c.cause.place == place]
        first, three = (_share(c.right_within(n) for c in of) for n in (1, 3))
        rows[f"{place}: first; first three"] = f"{first}; {three}"
    for low, high in pairwise(_BINS):
        here = (said >= low) & (said < high)
        if here.any():
            rows[f"said {low:.2f}-{high:.2f}"] = (
                f"{said[here].mean():.3f} said, {came[here].mean():.3f} came true, {here.sum()}"
            )
    for name, value in rows.items():
        yield f"{name:38} {value}"


def _of_door(door: Door) -> Iterator[str]:
    for trouble in door.troubles:
        yield f"trouble: {trouble.call} {trouble.status} {trouble.seconds:.2f} s {trouble.detail}"
    for call, seconds in sorted(door.seconds.items()):
        middle, worst = np.median(seconds), max(seconds)
        yield f"{call:22} {len(seconds):6} calls, median {middle:.3f} s, worst {worst:.2f} s"


def _share(hits: Iterable[bool | None]) -> str:
    got = [bool(hit) for hit in hits]
    return f"{sum(got)} of {len(got)} ({100 * sum(got) / max(1, len(got)):.0f} %)"


def _told(episode: Episode, rows: list[CauseScore]) -> Iterator[str]:
    plant = episode.plant
    truth = [(b.fault, b.components, b.does) for b in episode.breaks]
    yield (
        f"== {episode.number} {plant.style} {plant.source_kind} {plant.zoning} {plant.valve_kind} "
        f"{plant.emitter} {len(plant.homes)} homes {len(plant.loops)} loops {plant.transformers} "
        f"{episode.outdoor_f:.0f} F true {truth}"
    )
    for row in rows:
        good = "ok" if row.right_within(1) else "3" if row.right_within(3) else "WRONG"
        yield f"  {good} {row.cause.fault} part={row.part} tickets={row.tickets}"
        if row.visit:
            made, left = row.visit, row.visit.last["suspects"]
            true = [s["probability"] for s in left if s["component"] in row.cause.components]
            yield f"    visit {made.minutes:.0f} min {made.verdict} {made.checks} {made.notes}"
            yield f"    end true {sum(true):.2f} unknown {made.last.get('unknown')}"
            yield f"    left {[(s['fault'], s['component'], s['probability']) for s in left[:4]]}"
    for said in episode.said:
        there = said.at - timedelta(hours=5)
        yield f"    {there:%d %H:%M} {said.home} {said.way:3} {said.topic} {said.text!r}"
    for t in episode.tickets:
        top = [(s["fault"], s["component"], s["probability"]) for s in t["suspects"][:7]]
        yield f"  T {t['scope']} {t['component']} {t['apartments']} {top} {t.get('unknown')}"
        yield f"    load {[p['part'] for p in t['load']]}"
    for note in episode.notes:
        yield f"  note {note}"
