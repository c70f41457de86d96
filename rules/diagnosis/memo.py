"""What was computed and may be wanted again, never more than so many things."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

__all__ = ["Memo"]

T = TypeVar("T")


class Memo:
    """Results by name; of more than ``most`` the one that was wanted longest ago is forgotten.

    Two threads may compute the same result twice; neither gets a wrong one.
    """

    def __init__(self, most: int) -> None:
        """Empty."""
        self._most = most
        self._made: dict[Hashable, Any] = {}

    def once(self, name: Hashable, compute: Callable[[], T]) -> T:
        """The result of this name, computed if it is not there; never None."""
        made: T | None = self._made.pop(name, None)
        if made is None:
            made = compute()
        self._made[name] = made
        while len(self._made) > self._most:
            self._made.pop(next(iter(self._made.copy())), None)
        return made
