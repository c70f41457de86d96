"""What stands beside a part of the day's load."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.pages.words import per_cent
from service.usecases.showing.truck_day import LoadItem

__all__ = ["at_once", "used_at"]

# The likeliest reasons are enough to know what a part is for.
_MOST_REASONS = 2


def used_at(item: LoadItem) -> str:
    """``41 %; stops 1 to 3: valve motor is dead; stop 5: thermostat wire is broken``.

    What is rare and goes on all the same says why: ``4 %, but 12 homes would wait for it; stop 2 ...``.
    """
    reasons = (f"{_stops(n)}: {at_once(says)}" for says, n in item.stops[:_MOST_REASONS])
    many = f", but {item.homes:.0f} homes would wait for it" if item.is_for_many else ""
    return "; ".join([per_cent(item.chance_used) + many, *reasons])


def at_once(says: str) -> str:
    """A sentence inside another one: a small first letter, but for ``24 V`` and ``CO``."""
    return says[:1].lower() + says[1:] if says[1:2].islower() or says[1:2] == " " else says


def _stops(numbers: Sequence[int]) -> str:
    """``stop 2``, ``stops 1 to 3 and 5``."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    parts = [part for run in runs for part in _run(run)]
    listed = ", ".join(parts[:-1])
    return f"{'stop' if len(numbers) == 1 else 'stops'} {f'{listed} and ' if listed else ''}{parts[-1]}"


def _run(run: Sequence[int]) -> Iterable[str]:
    return (f"{run[0]} to {run[-1]}",) if len(run) > 2 else map(str, run)
