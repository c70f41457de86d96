"""What was computed and may be wanted again, never more than so many things, or so many bytes."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Any, TypeVar

import numpy as np

__all__ = ["Memo", "bytes_of"]

T = TypeVar("T")

# Where the objects live that hold arrays; building files and fault rows hold none.
_ROOMS = ("rules.diagnosis.", "rules.heat.")


class Memo:
    """Results by name; of more than ``most`` the one that was wanted longest ago is forgotten.

    So it is while their arrays together have more than ``most_bytes``, which is looked at when
    something is made; the newest stays. ``gone`` is told what was forgotten. Two threads may compute
    the same result twice; neither gets a wrong one.
    """

    def __init__(
        self,
        most: int,
        most_bytes: int | None = None,
        gone: Callable[[Any], None] | None = None,
    ) -> None:
        """Empty."""
        self._most = most
        self._most_bytes = most_bytes
        self._gone = gone
        self._made: dict[Hashable, Any] = {}

    def once(self, name: Hashable, compute: Callable[[], T]) -> T:
        """The result of this name, computed if it is not there; never None."""
        made: T | None = self._made.pop(name, None)
        if made is not None:
            self._made[name] = made
            return made
        made = self._made[name] = compute()
        while len(self._made) > self._most or self._is_too_large():
            self._forget(next(iter(self._made.copy())))
        return made

    def clear(self) -> None:
        """Forget all."""
        self._made.clear()

    def values(self) -> list[Any]:
        """What is kept."""
        return list(self._made.copy().values())

    def _is_too_large(self) -> bool:
        if self._most_bytes is None or len(self._made) < 2:
            return False
        return bytes_of(self.values()) > self._most_bytes

    def _forget(self, name: Hashable) -> None:
        old = self._made.pop(name, None)
        if old is not None and self._gone is not None:
            self._gone(old)


def bytes_of(things: Iterable[Any]) -> int:
    """Bytes of all arrays that these things hold on to, each once; of a view what it shows a part of."""
    seen: set[int] = set()
    left, total = list(things), 0
    while left:
        thing = left.pop()
        if id(thing) in seen:
            continue
        seen.add(id(thing))
        if isinstance(thing, np.ndarray):
            if thing.base is None:
                total += thing.nbytes
            else:
                left.append(thing.base)
        elif isinstance(thing, Memo):
            left += thing.values()
        elif isinstance(thing, dict):
            left += thing.copy().values()
        elif isinstance(thing, tuple | list):
            left += thing
        elif type(thing).__module__.startswith(_ROOMS):
            slots = getattr(type(thing), "__slots__", ())
            left += [getattr(thing, name) for name in slots if name != "__weakref__"]
            left += getattr(thing, "__dict__", {}).copy().values()
    return total
