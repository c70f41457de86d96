"""Opting out of texting is said of texting: what is to stop in the home opts out of nothing."""

from __future__ import annotations

import pytest

from rules.model import EmitterHeat, Intent, TopicId
from rules.reading import read


@pytest.mark.parametrize(
    "text",
    [
        "stop the noise",
        "please stop the banging",
        "stop banging",
        "make it stop",
        "make them stop",
        "haz que pare",
        "please stop it",
    ],
)
def test_what_is_to_stop_in_the_home_is_no_opt_out(text: str) -> None:
    """A household that is opted out by mistake hears nothing more of its heat."""
    assert read(text).intent not in (Intent.STOP, Intent.RESOLVED)


@pytest.mark.parametrize(
    "text", ["stop", "please stop", "stop texting me", "stop messaging me about the noise"]
)
def test_a_stop_that_is_the_message_or_about_texting_opts_out(text: str) -> None:
    """Alone, with a please, or with a word of texting."""
    assert read(text).intent is Intent.STOP


@pytest.mark.parametrize(
    ("text", "heat"),
    [
        ("1", EmitterHeat.HOT),
        ("hot", EmitterHeat.HOT),
        ("2", EmitterHeat.LUKEWARM),
        ("tibio", EmitterHeat.LUKEWARM),
        ("3", EmitterHeat.COLD),
        ("0", None),
    ],
)
def test_the_answer_how_hot_a_radiator_is_tells_its_heat(
    text: str, heat: EmitterHeat | None
) -> None:
    """By number as by word."""
    assert read(text, TopicId("q_hot")).emitter is heat
