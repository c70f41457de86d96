"""Danger that few words tell together with the report; what is right is common sense, no source."""

from __future__ import annotations

import pytest

from rules.asking.danger_meant import danger_meant, is_denied
from rules.model import Kind
from rules.reading import danger_in

LEAK, COLD = {Kind.LEAK}, {Kind.TOO_COLD}


@pytest.mark.parametrize(
    "text",
    [
        "its near the outlet now",
        "it is close to a plug",
        "yes near a plug",
        "it's coming through the light",
        "está cerca del enchufe",
        "ya llegó al enchufe",
        "sí, hay un enchufe al lado",
        "ITS NEXT TO THE TV",
    ],
)
def test_water_by_electrics_without_the_word_water(text: str) -> None:
    """With a leak open it is about the water; of a cold home it says nothing."""
    assert danger_meant(text, LEAK) == ("water_electrics",)
    assert danger_meant(text, COLD) == ()


@pytest.mark.parametrize(
    "text",
    [
        "its not near any outlet",
        "no outlets near it",
        "isn't near a light",
        "no hay enchufes cerca",
        "its by the door",
        "on the floor in the kitchen",
        "the outlet is fine",
        "lights are on",
        "its getting worse",
        "en el piso",
        "yes",
        "",
    ],
)
def test_water_elsewhere_is_no_danger(text: str) -> None:
    """Nor is a "no" to our own sentence."""
    assert danger_meant(text, LEAK) == ()


@pytest.mark.parametrize("text", ["yes i smell it", "Yes, gas", "sí huele", "we can smell it"])
def test_a_yes_to_the_line_about_gas(text: str) -> None:
    """After "if you smell gas" it needs no second word; alone it tells nothing."""
    assert danger_in(text) == ()
    assert danger_meant(text, COLD) == ("gas",)
    assert danger_meant(text, {Kind.NOISE}) == ()


@pytest.mark.parametrize("text", ["no i dont smell it", "no smell", "its 58", "no huele a nada"])
def test_a_no_to_the_line_about_gas(text: str) -> None:
    """Nobody is sent out for that."""
    assert danger_meant(text, COLD) == ()


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("no smell no alarm", COLD),
        ("no gas", COLD),
        ("no huele a gas", COLD),
        ("no hay enchufes cerca", LEAK),
        ("not near any plug", LEAK),
    ],
)
def test_a_short_no_answers_our_sentence(text: str, kinds: set[Kind]) -> None:
    """It is no "no" to the question that follows."""
    assert is_denied(text, kinds)


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("no", COLD),
        ("no hot water", COLD),
        ("no light on the thermostat", COLD),
        ("no smell but it is 58 in here", COLD),
        ("no water any more", LEAK),
        ("no smell", {Kind.NOISE}),
    ],
)
def test_other_noes_are_answers(text: str, kinds: set[Kind]) -> None:
    """What our sentence does not name, or more than that."""
    assert not is_denied(text, kinds)
