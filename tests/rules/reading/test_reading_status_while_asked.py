"""Asking when somebody comes is no answer to the question that is out."""

from __future__ import annotations

import pytest

from rules.model import Intent, TopicId
from rules.reading import read


@pytest.mark.parametrize(
    "text", ["cuando vienen? mi hijo tiene frio", "when are you coming? its so cold"]
)
def test_a_word_that_is_also_a_choice_does_not_make_it_an_answer(text: str) -> None:
    """ "Frio" is a person here and not what the thermostat is set to (common practice, no source)."""
    reading = read(text, TopicId("q_mode"))
    assert reading.answer is None
    assert reading.intent is Intent.STATUS_QUESTION


def test_a_number_stays_an_answer_whatever_follows() -> None:
    """Who writes the number of a choice first has answered."""
    reading = read("3, when are you coming?", TopicId("q_mode"))
    assert reading.answer is not None
    assert reading.answer.means == "cool"
