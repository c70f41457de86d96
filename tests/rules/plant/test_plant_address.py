"""Addresses in the words of tenants. What each text means: common practice, no source."""

from __future__ import annotations

import pytest

from rules.plant.address import building_meant

NAMES = {
    "alder-12": "12 Alder Court",
    "elm-12": "12 Elm Street",
    "elm-12w": "12 Elm Street West",
    "elm-21": "21 Elm Street",
    "fourth-215": "215 E 4th St",
    "north-5": "5 North Avenue",
    "house-b": "Calle Ñandú 9",
    "sunset": "Sunset Towers",
    "talk-1": "1 Talk Street",
}


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("12 Alder Court", "alder-12"),
        ("no heat 12 Alder Ct", "alder-12"),
        ("No heat, , 12 alder ct.", "alder-12"),
        ("we have no heat at 12 alder crt unit", "alder-12"),
        ("no heat 12 alder", "alder-12"),
        ("its 58 degrees here, 12 aldr court", "alder-12"),
        ("alder court no heat", "alder-12"),
        ("12 elm st", "elm-12"),
        ("12 elm street west", "elm-12w"),
        ("no heat at 12 Elm St. W. since monday", "elm-12w"),
        ("21 elm", "elm-21"),
        ("cold in 215 east 4th street", "fourth-215"),
        ("215 E. 4th", "fourth-215"),
        ("5 north ave is cold", "north-5"),
        ("5 N Ave", "north-5"),
        ("calle nandu 9, no hay calefaccion", "house-b"),
        ("calle Ñandú numero 9", "house-b"),
        ("no heat in sunset tower", "sunset"),
        ("house-b, no heat", "house-b"),
    ],
)
def test_an_address_is_understood_as_people_write_it(said: str, meant: str) -> None:
    """Abbreviated, misspelt by a letter, without accents, in the middle of a sentence."""
    assert building_meant(said, NAMES) == meant


@pytest.mark.parametrize(
    "said",
    [
        "",
        "no heat",
        "15 alder court",  # another number
        "12 alder street",  # another street
        "elm street",  # which of three?
        "12 oak court",
        "I want to talk to a person",
        "12 people and no heat in the court",
        "it is 12 degrees, alder trees outside",
    ],
)
def test_no_door_is_guessed(said: str) -> None:
    """Asking again is better than a ticket for the wrong house."""
    assert building_meant(said, NAMES) is None


def test_one_letter_tells_two_streets_apart() -> None:
    """Whoever writes a name exactly does not mean its neighbour in spelling."""
    names = {"alder": "9 Alder Street", "elder": "9 Elder Street"}
    assert building_meant("9 elder street", names) == "elder"
    assert building_meant("9 alder street", names) == "alder"


def test_one_letter_off_both_streets_is_neither() -> None:
    """Somebody is asked again."""
    names = {"alder": "9 Alder Street", "elder": "9 Elder Street"}
    assert building_meant("9 ilder street", names) is None
