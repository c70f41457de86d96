"""One thing and not the other, both at once, or the one here and the other there.

The sentences and what they mean are our own (common practice, no source).
"""

from __future__ import annotations

import pytest

from rules.model import Kind
from rules.reading import danger_in, read
from rules.reading.spelling import nearest_known

COLD, HOT, WATER = Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("its not the heat, its the hot water thats out", {WATER}),
        ("no es la calefaccion, es el agua de la tina que no pasa de tibia", {WATER}),
        ("it isn't the hot water, it's the heat", {COLD}),
        ("no trouble with the hot water, it's the rattling", {Kind.NOISE}),
        ("no es queja de frio, es que traquetea", {Kind.NOISE}),
        ("its not the heat its the pipe dripping", {Kind.LEAK}),
        ("not a heat thing, theres mice in the kitchen", {Kind.OTHER}),
        # What is left is what is wrong, though nothing else is said of it.
        ("not the hot water, the heat", {COLD}),
        ("the heat, not the hot water", {COLD}),
        ("it's the hot water not the heat", {WATER}),
        ("not the hot water but the heat", {COLD}),
        ("no es el agua caliente, es la calefaccion", {COLD}),
        ("no es la calefaccion sino el agua caliente", {WATER}),
        ("no hot water. heat works", {WATER}),
        ("no heat, no hot water", {COLD, WATER}),
        # No denials, though they begin like one.
        ("its not heating", {COLD}),
        ("it's not just the heat, the hot water is out too", {COLD, WATER}),
        ("we have a problem with the heat", {COLD}),
    ],
)
def test_what_it_is_not_about_is_not_read(text: str, kinds: set[Kind]) -> None:
    """Only what is said to be wrong is."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("neither the heat nor the hot water is working", {COLD, WATER}),
        ("neither hot water nor heat", {COLD, WATER}),
        ("bedroom too hot, kitchen too cold", {COLD, HOT}),
        ("kitchen too cold, bedroom too hot", {COLD, HOT}),
        ("la cocina helada y la recamara hirviendo", {COLD, HOT}),
        ("breaker for the boiler room keeps tripping and we lose heat", {Kind.ELECTRICAL, COLD}),
    ],
)
def test_of_two_troubles_none_is_dropped(text: str, kinds: set[Kind]) -> None:
    """Two troubles in one text are two."""
    assert set(read(text).kinds) == kinds


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("too hot, radiators stone cold", {HOT}),
        ("the radiators are stone cold but it's boiling in here", {HOT}),
        ("el radiador no se apaga, mucho calor", {HOT}),
        ("the radiators are stone cold and it's freezing", {COLD}),
        ("the radiator is off and cold and still 85 degrees", {HOT}),
        ("el radiador esta apagado y frio y aun asi 85 grados", {HOT}),
        ("the heat is off and its 84 in here", {HOT}),
        ("radiator is off and cold and still 58 degrees", {COLD}),
        ("its cold, heat is off, thermostat says 80", {COLD}),
    ],
)
def test_a_cold_radiator_in_a_hot_room_is_no_cold_room(text: str, kinds: set[Kind]) -> None:
    """What is cold is the radiator."""
    assert set(read(text).kinds) == kinds


def test_colder_than_it_was_set_is_cold() -> None:
    """Without a number as well."""
    assert read("The apartment has been below what i set").kinds == (COLD,)


def test_a_word_with_its_first_letters_changed_about_is_known() -> None:
    """As in the middle of a word."""
    assert nearest_known("rfia") == "fria"
    assert read("la sala esta rfia").kinds == (COLD,)


@pytest.mark.parametrize(
    ("text", "dangers"),
    [
        ("the boiler man had a headache last week", ()),
        ("does the building have carbon monoxide alarms in every unit", ()),
        ("no hay fuego", ()),
        # Still dangers, though they look like those.
        ("i had a headache last night and the heater smells, my wife too", ("co",)),
        ("hay un fire en el basement", ("fire",)),
        ("Mi mama no esta y sale humo del calentador de la pared", ("fire",)),
        ("Carbon monoxide alarm!!! Baby here!!!", ("co",)),
        ("we all woke up feeling hungover and nobody drank", ("co",)),
        ("it was the bath water, it came out scalding, i have blisters on my foot", ("scald",)),
        ("no se fue el olor, otra vez el gas", ("gas",)),
    ],
)
def test_a_danger_is_told_from_what_sounds_like_one(text: str, dangers: tuple[str, ...]) -> None:
    """Somebody's headache of last week, a question, a denial are none."""
    assert danger_in(text) == dangers
