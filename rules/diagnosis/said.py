"""What a source says of a home, and what several say together: likelihoods by keys.

Each source has the keys that it needs itself, mostly few. What a report says stays as it is when an
answer comes; only the product is made anew, at keys as fine as all sources need.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import Feature, Keys, collapse
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo

__all__ = ["Said", "together"]

# Odds beyond this are as good as certain; a product of two such numbers is still a double.
_MOST = 1e150
_LEAST = 1e-300


def _nothing() -> Floats:
    return np.zeros((1, 1))


@dataclass(frozen=True, eq=False, slots=True)
class Said:
    """Likelihood of one source, exp(scale + by_look) * likely; a length of 1 stands for any."""

    keys: Keys
    likely: Floats  # (onsets, look keys, own keys)
    scale: Floats = field(default_factory=_nothing)  # (onsets, look keys)
    by_look: Floats = field(default_factory=_nothing)  # (onsets, looks)
    memo: Memo = field(default_factory=lambda: Memo(4))  # for what others make of it

    @staticmethod
    def from_logs(keys: Keys, logs: Floats, by_look: Floats | None = None) -> Said:
        """From the log likelihood by keys, and what only the look adds to it."""
        scale = logs[:, :, keys.of_own[0]]
        likely = np.minimum(logs - scale[:, :, None], np.log(_MOST))
        np.exp(likely, out=likely)
        return Said(keys, likely, scale, _nothing() if by_look is None else by_look)

    @property
    def logs(self) -> Floats:
        """Log likelihood by keys; (onsets, look keys, own keys)."""
        return np.asarray(np.log(np.maximum(self.likely, _LEAST)) + self.scale[:, :, None])


def together(kind: HomeClass, sources: Iterable[Said], *features: Feature) -> Said:
    """All sources as one, at keys that keep these features apart as well."""
    parts = list(sources)
    keys = collapse(kind, [*features, *(f for said in parts for f in said.keys.features)])
    if not parts:
        return Said(keys, np.ones((1, 1, 1)))
    if len(parts) == 1 and keys is parts[0].keys:
        return parts[0]
    return Said(
        keys,
        reduce(_times, (said.keys.spread(said.likely, keys) for said in parts)),
        reduce(np.add, (_scale_at(said, keys) for said in parts)),
        reduce(np.add, (said.by_look for said in parts)),
    )


def _times(one: Floats, other: Floats) -> Floats:
    product = one * other
    return np.minimum(product, _MOST, out=product) if product.max() > _MOST else product


def _scale_at(said: Said, keys: Keys) -> Floats:
    if keys is said.keys or said.scale.shape[1] == 1:
        return said.scale
    return said.scale.take(said.keys.of_look[keys.look], axis=1)
