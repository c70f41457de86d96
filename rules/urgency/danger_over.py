"""Who may find that a danger was none, and what is left of a report then.

Theory of operation
-------------------
``rules/data/danger_over.yaml`` names for each danger who may end it. Several dangers are ended by
whoever may end each of them. What the report called the danger goes with it; all else that it told
stays, and is an ordinary complaint. "Something else" alone names nothing that anybody could repair, so
it goes too, unless whoever was there says that something is still to be done.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from enum import StrEnum
from typing import Any

from rules.data import table
from rules.model import Kind

__all__ = ["FoundBy", "found_by_words", "is_on_site", "left_of", "may_find", "speaks_for_one_home"]


class FoundBy(StrEnum):
    """Who found that there is no danger."""

    FIRE = "fire"
    GAS = "gas"
    TECHNICIAN = "technician"
    TENANT = "tenant"
    MISREAD = "misread"  # nobody has reported one: the text meant something else


def may_find(dangers: Iterable[str]) -> tuple[FoundBy, ...]:
    """Who may end all of these dangers, in the order of the table; an unknown one counts as "other"."""
    rows = table("danger_over")["dangers"]
    allowed = [set(rows.get(danger, rows["other"])["by"]) for danger in dangers]
    return tuple(f for f in FoundBy if all(f.value in by for by in allowed))


def found_by_words(found_by: FoundBy) -> str:
    """Who that is, as staff read it."""
    return str(_row(found_by)["says"])


def is_on_site(found_by: FoundBy) -> bool:
    """Whether they were there."""
    return bool(_row(found_by).get("on_site", False))


def speaks_for_one_home(found_by: FoundBy) -> bool:
    """Whether what they found holds for their own home alone."""
    return bool(_row(found_by).get("own_home", False))


def left_of(
    kinds: Collection[Kind], dangers: Iterable[str], *, still_to_do: bool
) -> frozenset[Kind]:
    """What a report still complains of when these dangers were none; empty: nothing.

    ``still_to_do``: there was no danger, but something is to be looked at all the same.
    """
    rows = table("danger_over")["dangers"]
    named = {Kind(rows[d]["kind"]) for d in dangers if "kind" in rows.get(d, {})}
    left = set(kinds) - named - {Kind.OTHER}
    if still_to_do:
        # What gives no sparks may still be broken; a smell or an alarm that was none is nothing.
        left |= {Kind.ELECTRICAL} & set(kinds)
        left = left or {Kind.OTHER}
    return frozenset(left)


def _row(found_by: FoundBy) -> dict[str, Any]:
    found: dict[str, Any] = table("danger_over")["found_by"][found_by.value]
    return found
