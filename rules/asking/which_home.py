"""Asking which of several homes is meant, in words that a tenant knows and one text holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from textwrap import shorten

from rules.asking.questions import NOT_SURE, UNKNOWN
from rules.asking.sayings import say
from rules.asking.turns import HOMES, Ask, Say
from rules.asking.wording import fits_one_text, numbered

__all__ = ["ask_home"]

_SHORTER = (24, 14)  # characters, where whole names leave no room for all homes


def ask_home(
    sentence: str, homes: Sequence[tuple[str, str]], names: Mapping[str, str], language: str
) -> Say:
    """The question with all homes, by the fullest names that one text holds.

    Where it does not even hold the shortest, the last homes are left out.

    Args:
        sentence: what is asked.
        homes: building and apartment of each.
        names: what buildings are called, by id; those left out are called by their id.
        language: of the last choice, some other home.
    """
    other = (NOT_SURE, say("which_other", language))
    offered: list[tuple[str, str]] = []
    text = sentence
    for labels in _less_and_less(homes, names):
        offered = [(str(n), label) for n, label in enumerate(labels, start=1)]
        text = numbered(sentence, [*offered, other])
        if fits_one_text(text):
            break
    choices = (*((number, number) for number, _ in offered), (NOT_SURE, UNKNOWN))
    return Say(text, asks=Ask(HOMES, choices))


def _less_and_less(
    homes: Sequence[tuple[str, str]], names: Mapping[str, str]
) -> Iterator[list[str]]:
    """The labels of the homes: with whole names, shorter ones, ids; then of fewer homes."""
    buildings = list(dict.fromkeys(building for building, _ in homes))
    shortest = {building: building for building in buildings}
    if len(buildings) == 1:
        labels = [apartment for _, apartment in homes]
    else:
        called = {
            building: " ".join(names.get(building, building).split()) for building in buildings
        }
        for length in (None, *_SHORTER):
            yield _labels(homes, _told_apart(called, length))
        labels = _labels(homes, shortest)
    yield from (labels[:count] for count in range(len(labels), 0, -1))


def _labels(homes: Sequence[tuple[str, str]], called: Mapping[str, str]) -> list[str]:
    return [f"{called[building]} {apartment}" for building, apartment in homes]


def _told_apart(called: Mapping[str, str], length: int | None) -> dict[str, str]:
    """Names of at most a length; one that another building bears too is followed by the id."""
    short = {
        building: name if length is None else shorten(name, length, placeholder="") or building
        for building, name in called.items()
    }
    bearers = Counter(name.casefold() for name in short.values())
    return {
        building: name if bearers[name.casefold()] == 1 else f"{name} ({building})"
        for building, name in short.items()
    }
