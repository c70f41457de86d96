"""Whose cold and heat it is: the water's, the radiator's, the street's or the home's.

The sentences and what they mean are our own (common practice, no source).
"""

from __future__ import annotations

import pytest

from rules.model import EmitterHeat, Kind
from rules.reading import read
from rules.reading.by_rule import by_rule
from rules.reading.danger import hear
from rules.reading.folding import fold
from rules.reading.words import words_of

COLD, HOT, WATER = Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("the water in the bathroom is cold", {WATER}),
        ("no hot water and the bedroom is cold", {WATER, COLD}),
        ("the shower, even after ten minutes, is only lukewarm", {WATER}),
        ("shower turns cold fast", {WATER}),
        ("el agua tarda un siglo en salir caliente", {WATER}),
        ("en la cocina el agua sale helada", {WATER}),
        ("sin agua caliente y estamos tiritando", {WATER, COLD}),
        ("it is so cold outside but we are roasting in here", {HOT}),
        ("no hot water problem here, just no heat", {COLD}),
        ("frío no hace, al revés, nos asamos", {HOT}),
        ("how do i get this heat to stop, its unbearable", {HOT}),
        ("the screen is dead and so is the heat", {COLD}),
        ("heater comes on and then it dies", {COLD}),
    ],
)
def test_cold_and_heat_belong_to_what_is_named_before_them(text: str, kinds: set[Kind]) -> None:
    """Cold water is no cold home, and a place ("in the bathroom") is no owner."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    ("text", "heat"),
    [
        ("the radiator in my daughters room hardly gets warm", EmitterHeat.LUKEWARM),
        ("el radiador del cuarto de mi hija de 6 añitos no calienta nada", EmitterHeat.COLD),
        ("baseboard in the kitchen is burning", EmitterHeat.HOT),
        ("kitchen radiator works great and is hot", EmitterHeat.HOT),
        ("radiator is off and the room is cold", None),
        ("its hot in here and the radiator leaks", None),
    ],
)
def test_a_radiator_is_as_warm_as_it_is_said_to_be(text: str, heat: EmitterHeat | None) -> None:
    """How a radiator feels may be said after where it stands, and is not how the room feels."""
    assert read(text).emitter is heat


@pytest.mark.parametrize(
    ("text", "noise"),
    [
        ("radiator sounds like a tea kettle", True),
        ("smells like a hair dryer in here", False),
        ("sounds like a freight train under my floor", True),
        ("gas stove wont light, it clicks and clicks", False),
        ("the detector in the hall is squealing every minute", False),
    ],
)
def test_what_something_is_like_is_a_noise_only_where_it_sounds(text: str, *, noise: bool) -> None:
    """To rules: a kettle is a noise where it is heard, not smelled; stoves and alarms are no pipes."""
    folded = fold(text)
    told = by_rule(text, words_of(folded), hear(folded).told, None)
    assert (Kind.NOISE in told.kinds) is noise
