"""Homes that may be asked to turn their thermostat, and the others in a line for each reason."""

from __future__ import annotations

from dataclasses import dataclass

from service.usecases.rows.repair_views import TurnHome

__all__ = ["Askable", "askable"]


@dataclass(frozen=True, slots=True)
class Askable:
    """``homes`` have a place of their own; ``cannot`` are (why not, homes) of the rest."""

    homes: tuple[TurnHome, ...]
    cannot: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def more_asked(self) -> bool:
        """Whether one of those that a page folds away is being asked."""
        return any(home.ask is not None and not home.over for home in self.homes[4:])


def askable(turns: tuple[TurnHome, ...], *, at_the_valve: bool) -> Askable:
    """Sorted for a page; a home that was asked already keeps its place, with what came of it."""
    homes: list[TurnHome] = []
    cannot: dict[str, list[str]] = {}
    for home in turns:
        reason = home.why_not or ("" if at_the_valve else home.not_from_afar)
        if reason and home.ask is None:
            cannot.setdefault(reason, []).append(home.apartment)
        else:
            homes.append(home)
    return Askable(tuple(homes), tuple((why, tuple(who)) for why, who in cannot.items()))
