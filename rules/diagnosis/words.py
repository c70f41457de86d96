"""Facts in plain words, as whoever reads why a fault is suspected finds them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.model import Answered, ApartmentId, Fact, NeighborSaid, Reported, RoomRead, Visited

__all__ = ["describe", "silence_words"]


def describe(facts: Iterable[Fact]) -> str:
    """Facts of one source in plain words, without names of people."""
    return "; ".join(_words(fact) for fact in facts)


def _words(fact: Fact) -> str:
    if isinstance(fact, Reported):
        kinds = ", ".join(k.value.replace("_", " ") for k in sorted(fact.kinds)) or "something"
        noise = f" ({fact.noise.value})" if fact.noise else ""
        return f"{fact.apartment} reports {kinds}{noise}"
    if isinstance(fact, RoomRead):
        room = f"reads {fact.room_f:.0f} F" if fact.room_f is not None else ""
        wanted = f"set to {fact.set_f:.0f} F" if fact.set_f is not None else ""
        return f"{fact.apartment} {', '.join(x for x in (room, wanted) if x)}"
    if isinstance(fact, Answered):
        return f"{fact.apartment} answers {fact.topic}: {fact.means.replace('_', ' ')}"
    if isinstance(fact, NeighborSaid) and fact.apartment == fact.other:
        return (
            f"{fact.apartment} says that it is {'not ' if fact.same else ''}right after the repair"
        )
    if isinstance(fact, NeighborSaid):
        says = "has it too" if fact.same else "has it not"
        return (
            f"{fact.apartment} says that {fact.other} {says} ({fact.kind.value.replace('_', ' ')})"
        )
    if isinstance(fact, Visited):
        return f"a visit to {fact.apartment} found nothing"
    state = {True: " calling", False: " not calling", None: ""}[fact.calling]
    reading = fact.outcome or f"{fact.value:g} {fact.unit or ''}".strip()
    return f"{fact.check} at {fact.component}{state}: {reading}"


def silence_words(silent: Sequence[ApartmentId]) -> str:
    """That these homes have not written."""
    if len(silent) > 6:
        return f"{len(silent)} homes that could have written have not"
    return f"no complaint from {', '.join(silent)}"
