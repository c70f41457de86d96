"""Which of many things can hold of a text at all, judged by what each of them needs.

Theory of operation
-------------------
A thing (a phrase, a sign of danger) has parts and needs one name of each. Every thing has a bit, once
for its first part, once for its second and so on, and every name is the bits of the parts it will do
for. The bits of all names of a text together say which parts are there; what has all of its bits may
hold. So hundreds of things are judged by one "or" for each name of the text.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Generic, TypeVar

__all__ = ["Shortlist"]

# What a thing needs beyond so many parts hardly ever rules it out.
_MOST_PARTS = 4

T = TypeVar("T")


class Shortlist(Generic[T]):
    """Things, each with its parts: of each part one name must be there."""

    def __init__(self, things: Iterable[tuple[T, Sequence[Collection[str]]]]) -> None:
        listed = [(thing, needs[:_MOST_PARTS]) for thing, needs in things]
        self._things = [thing for thing, _ in listed]
        self._parts = max((len(needs) for _, needs in listed), default=0)
        self._by_name: dict[str, int] = defaultdict(int)
        # The bits of parts that a thing does not have.
        self._always = 0
        for order, (_, needs) in enumerate(listed):
            for part in range(self._parts):
                bit = 1 << (part * len(listed) + order)
                if part >= len(needs):
                    self._always |= bit
                    continue
                for name in needs[part]:
                    self._by_name[name] |= bit

    def of(self, names: Iterable[str]) -> list[T]:
        """The things that may hold of a text with such names, in their order."""
        by_name, there = self._by_name, self._always
        for name in by_name.keys() & names:
            there |= by_name[name]
        count = len(self._things)
        likely = (1 << count) - 1
        for _ in range(self._parts):
            likely &= there
            there >>= count
        found: list[T] = []
        while likely:
            lowest = likely & -likely
            found.append(self._things[lowest.bit_length() - 1])
            likely ^= lowest
        return found
