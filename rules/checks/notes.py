"""What a ticket says beside its suspects: coincidence, contradictions, and what no answer can split."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rules.checks import checks_between
from rules.checks.figures import coasting
from rules.diagnosis import Diagnosis, Group, Suspect
from rules.diagnosis.clusters import cluster_of
from rules.diagnosis.puzzles import contradictions, unsplit
from rules.model import Kind

__all__ = ["Note", "notes"]

_MOST_NAMED = 3  # faults that one sentence can bear


@dataclass(frozen=True, slots=True)
class Note:
    """One sentence or two, and what they are about."""

    about: Literal["contradiction", "coincidence", "cooling", "unsplit"]
    says: str


def notes(diagnosis: Diagnosis, group: Group) -> tuple[Note, ...]:
    """What to know about a group of complaints: first what cannot be right."""
    diagnosis = diagnosis.of(group.apartments)
    found = [Note("contradiction", c.says) for c in contradictions(diagnosis, group)]
    cluster = cluster_of(diagnosis.belief, diagnosis.evidence, group.apartments)
    if cluster is not None:
        found.append(Note("coincidence", f"{cluster.says}."))
    lasts = coasting(diagnosis.belief.space.climate)
    if lasts and group.scope != "apartment" and _complains_of(diagnosis, group, Kind.TOO_COLD):
        found.append(Note("cooling", f"{lasts}."))
    found += [Note("unsplit", _split(diagnosis, group, s)) for s in unsplit(diagnosis, group)]
    return tuple(found)


def _complains_of(diagnosis: Diagnosis, group: Group, kind: Kind) -> bool:
    said = (diagnosis.belief.homes[a].reported for a in group.apartments)
    return any(reported is not None and kind in reported.kinds for reported in said)


def _split(diagnosis: Diagnosis, group: Group, alike: tuple[Suspect, ...]) -> str:
    """Which suspects look the same to a tenant, and the measurement that tells them apart."""
    names = "; ".join(f"{s.says} ({s.component})" for s in alike)
    if len(alike) > _MOST_NAMED:
        parts = dict.fromkeys(str(s.component) for s in alike)
        names = f"{len(alike)} faults of {', '.join(parts)}"
    steps = checks_between(diagnosis, group, alike)
    if not steps:
        return f"No answer of a tenant tells these apart, nor does a measurement left: {names}."
    first = steps[0]
    return (
        f"No answer of a tenant tells these apart: {names}. This measurement does: {first.do}, at "
        f"{first.component}."
    )
