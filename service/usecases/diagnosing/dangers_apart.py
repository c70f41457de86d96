"""Which homes in danger go on which ticket: each on its own, or with those in the same danger."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from rules.diagnosis import Diagnosis
from rules.diagnosis.one_danger import one_danger
from service.store.tables import Complaint

__all__ = ["DANGER", "dangers_apart", "home_key"]

DANGER = "a danger has a ticket of its own"


def home_key(complaint: Complaint) -> str:
    """The same for all complaints of one home: they are never on two tickets."""
    return complaint.apartment or complaint.id


def dangers_apart(
    complaints: Sequence[Complaint], diagnosis: Diagnosis | None, *, plain: bool
) -> list[tuple[frozenset[str], str]]:
    """The homes in danger by ticket, each with why they are there, in words.

    What a person has put on a ticket stays there, and joins no other danger.
    """
    in_danger = [c for c in complaints if c.danger]
    placed = {home_key(c) for c in complaints if c.pinned}
    free = {home_key(c) for c in in_danger} - placed
    found = [_of(d, free) for d in _together(in_danger, diagnosis, plain=plain)]
    found = [(homes, why) for homes, why in found if len(homes) > 1]
    joined = frozenset[str]().union(*(homes for homes, _ in found))
    alone = dict.fromkeys(home_key(c) for c in in_danger if home_key(c) not in joined)
    return found + [(frozenset({home}), DANGER) for home in alone]


_Together = tuple[Collection[str], str]


def _of(danger: _Together, free: Collection[str]) -> tuple[frozenset[str], str]:
    return frozenset(danger[0]).intersection(free), danger[1]


def _together(
    in_danger: Sequence[Complaint], diagnosis: Diagnosis | None, *, plain: bool
) -> list[_Together]:
    if diagnosis is not None:
        return [
            (d.apartments, f"one cause would explain their danger: {d.says} ({d.component})")
            for trouble in diagnosis.troubles
            for d in one_danger(trouble.belief, trouble.evidence)
        ]
    if not plain:
        return []
    # Without a diagnosis nothing says that the present grouping is wrong.
    held: dict[str, set[str]] = {}
    for complaint in in_danger:
        if complaint.ticket_id is not None:
            held.setdefault(complaint.ticket_id, set()).add(home_key(complaint))
    return [(homes, DANGER) for homes in held.values()]
