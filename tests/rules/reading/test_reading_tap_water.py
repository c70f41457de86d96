"""What is said of the tap answers how the tap is, and never how a radiator is."""

from __future__ import annotations

import pytest

from rules.model import Kind, TopicId
from rules.reading import read


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("hot water is out too", "none"),
        ("no hot water either", "none"),
        ("no hay agua caliente tampoco", "none"),
        ("thats out too", "none"),
        ("gone", "none"),
        ("its not working", "none"),
        ("ok", "normal"),
        ("hot water is fine", "normal"),
        ("we have hot water", "normal"),
        ("el agua caliente esta bien", "normal"),
        ("hay agua caliente", "normal"),
        ("lukewarm", "lukewarm"),
        ("the hot water is lukewarm", "lukewarm"),
    ],
)
def test_the_tap_is_answered_in_words(text: str, means: str) -> None:
    """A name with "hot" in it is no word that the water is hot."""
    answer = read(text, TopicId("q_dhw")).answer

    assert answer is not None
    assert (answer.topic, answer.means) == ("q_dhw", means)


@pytest.mark.parametrize("asked", ["q_hot", "q_up", "q_down"])
@pytest.mark.parametrize("text", ["hot water is out too", "el agua caliente no sale"])
def test_hot_water_is_no_hot_radiator(asked: str, text: str) -> None:
    """Whoever tells that the taps are cold has not said that the radiator got hot; the report counts."""
    found = read(text, TopicId(asked))

    assert found.answer is None
    assert Kind.NO_HOT_WATER in found.kinds


def test_the_radiator_is_still_answered_beside_the_tap() -> None:
    """Only the word in the name is left out."""
    answer = read("the radiator is hot but the hot water is out", TopicId("q_hot")).answer

    assert answer is not None
    assert answer.means == "hot"
