"""The leave-now text.

Theory of operation
-------------------
This module must work when everything else is broken, so it uses one table and nothing else, and has
a literal answer for the case that even the table cannot be read. Dangers that a person must walk
away from come before injuries that need first aid; of the first kind the strictest advice is given
alone (the one for gas also covers fire), because the texts differ only in what not to touch. How to
cool a burn may stand beside it; nobody who is to leave is told to put on blankets first. One text of
each kind at most: the whole stays within two segments. It never asks anything, never sends
anybody back in, and never names a switch, a flame or an oven except to say no.
"""

from __future__ import annotations

from collections.abc import Iterable

from rules.data import table

__all__ = ["LAST_RESORT", "danger_reply", "must_leave"]

LAST_RESORT = {
    "en": "Leave now with everyone. Do not touch any switch. Call 911 from outside.",
    "es": "Salgan todos ya. No toque interruptores. Llame al 911 desde afuera.",
}

_LEAVE = ("gas", "fire", "co", "electrical", "water_electrics")  # strictest advice first
_FIRST_AID = ("scald", "hypothermia")
_BESIDE_LEAVE = ("scald",)


def must_leave(danger_kinds: Iterable[str]) -> bool:
    """Whether a household with these dangers is to be outside; an unknown danger counts."""
    return any(kind not in _FIRST_AID for kind in danger_kinds)


def danger_reply(danger_kinds: Iterable[str], language: str) -> str:
    """What to text when these dangers were read; an unknown danger gets the general advice."""
    spoken = "es" if language == "es" else "en"
    kinds = set(danger_kinds)
    leave = [kind for kind in _LEAVE if kind in kinds][:1]
    aids = _BESIDE_LEAVE if leave else _FIRST_AID
    first_aid = [kind for kind in aids if kind in kinds][:1]
    chosen = leave + first_aid or ["other"]
    try:
        rows = table("sayings")
        return " ".join(str(rows[f"danger_{kind}"][spoken]) for kind in chosen)
    except Exception:  # noqa: BLE001  whatever broke, the household must still be told to leave
        return LAST_RESORT[spoken]
