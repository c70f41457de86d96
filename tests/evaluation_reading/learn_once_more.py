"""What the sums of all labels say of each, learned from sums of hands that were left out.

Weights are surer of the messages that they have learned from than of a stranger's, so their sums of
those teach nothing. ``learn_reading`` leaves hands out and writes the table.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rules.model import Kind
from rules.reading.once_more import CLUES, WEIGHED, OnceMore, clues_of_sums

from .logistic import fitted_together
from .reading_lessons import Lesson

__all__ = ["LeftOut", "learn_once_more", "once_more_written"]

# Groups of messages, each with its sums in hundredths by weights that have not learned from the group.
LeftOut = Sequence[tuple[Sequence[Lesson], Sequence[Sequence[int]]]]

_PENALTY = 10.0
_HUNDREDTHS = 100
# To find a kind is worth as much as to be right about it.
_EAGERNESS = 0.5


def learn_once_more(groups: LeftOut) -> OnceMore:
    """The weights that sums teach, by logistic loss."""
    both = [told for lessons, sums in groups for told in zip(lessons, sums, strict=True)]
    told = np.array([clues_of_sums(sums, *x.by_rule, asked="asked" in x.rules) for x, sums in both])
    right = np.array([x.labels[: len(WEIGHED)] for x, _ in both])
    weights, biases = fitted_together(told, right, _PENALTY)
    eager = [_EAGERNESS if isinstance(label, Kind) else 0.0 for label in WEIGHED]
    return OnceMore(
        np.rint((biases + np.array(eager)) * _HUNDREDTHS), np.rint(weights * _HUNDREDTHS)
    )


def once_more_written(weights: OnceMore) -> str:
    """The table as YAML, in the order of clues and labels."""
    return "\n".join(
        [
            "# What the sums of all labels, and what rules found, are worth for each kind and intent,",
            "# in hundredths. Learned by tests/evaluation_reading/learn_reading.py, not written by",
            "# hand; rules/reading/once_more.py says what clues are and how the labels stand.",
            f"bias: [{', '.join(str(int(each)) for each in weights.bias)}]",
            "weights:",
            *(
                f"  {clue}: {' '.join(str(int(each)) for each in row)}"
                for clue, row in zip(CLUES, weights.weights, strict=True)
            ),
            "",
        ]
    )
