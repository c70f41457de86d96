"""What the first weighing says of all labels, laid out and weighed once more."""

from __future__ import annotations

from math import tanh

import numpy as np
import pytest

from rules.model import Intent, Kind
from rules.reading.once_more import CLUES, WEIGHED, OnceMore, clues_of_sums, once_more

_SUMS = [0] * len(WEIGHED)
_LEAK, _COLD = WEIGHED.index(Kind.LEAK), WEIGHED.index(Kind.TOO_COLD)
_ANSWER, _HELP = WEIGHED.index(Intent.ANSWER), WEIGHED.index(Intent.HELP)


def _told(*, asked: bool = False, **sums: int) -> dict[str, float]:
    given = list(_SUMS)
    for name, total in sums.items():
        given[{"leak": _LEAK, "cold": _COLD, "answer": _ANSWER, "help": _HELP}[name]] = total
    told = clues_of_sums(given, Intent.ANSWER, (Kind.LEAK,), asked=asked)
    return dict(zip(CLUES, told.tolist(), strict=True))


def test_sums_are_told_as_they_are_flattened_and_in_pairs() -> None:
    """Worked by hand: 1.5 and -0.5 of two labels, the tangents of their halves, the product."""
    told = _told(leak=150, cold=-50)
    assert told["sum leak"] == 1.5
    assert told["flat too_cold"] == pytest.approx(2 * tanh(-0.25))
    assert told["too_cold & leak"] == pytest.approx(tanh(0.75) * tanh(-0.25))
    assert told["asked"] == told["asked leak"] == 0


def test_beyond_six_a_sum_says_no_more() -> None:
    """A label that a long text speaks for twenty times over drowns nothing."""
    assert _told(leak=2000) == _told(leak=600)


def test_an_intent_is_ahead_of_the_greatest_other_by_what_lies_between() -> None:
    """Worked by hand: 2.0 and 0.5, all others 0."""
    told = _told(answer=200, help=50)
    assert told["ahead wants answer"] == 1.5
    assert told["ahead wants help"] == -1.5
    assert told["ahead wants stop"] == -2.0


def test_rules_and_the_question_are_told() -> None:
    """The intent and the kinds that rules found, nothing else of them; each label beside a question."""
    told = _told(asked=True, leak=150)
    found = {clue for clue in CLUES if clue.startswith("rules ") and told[clue]}
    assert found == {"rules leak", "rules wants answer"}
    assert told["asked"] == 1
    assert told["asked leak"] == told["flat leak"] > 0


def test_what_is_no_kind_and_no_intent_stays_as_it_was() -> None:
    """Sums of slots after the others are handed on; the others are what weights make of the clues."""
    weights = np.zeros((len(CLUES), len(WEIGHED)))
    weights[CLUES.index("sum leak"), _COLD] = 100
    again = OnceMore(np.full(len(WEIGHED), -7.0), weights)
    given = [*_SUMS, 41, 42]
    given[_LEAK] = 300
    sums = again.sums(given, Intent.ANSWER, (), asked=False)
    assert sums[-2:] == [41, 42]
    assert sums[_COLD] == 293
    assert sums[_LEAK] == -7


def test_the_table_has_a_row_for_each_clue_and_a_column_for_each_label() -> None:
    """A label added without learning anew is found out here."""
    assert once_more().weights.shape == (len(CLUES), len(WEIGHED))
    assert once_more().bias.shape == (len(WEIGHED),)
