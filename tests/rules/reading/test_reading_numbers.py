"""Numbers: readings, settings and everything that is neither."""

from __future__ import annotations

import pytest

from rules.model import Care, Kind, TopicId
from rules.reading import read

# Text, reading, setting; units as the contract infers them: 15-30 C, 40-110 F.
_TEMPERATURES = [
    ("its 58 in here", "58F", None),
    ("58F", "58F", None),
    ("20 C in the bedroom", "20C", None),
    ("18ºC aqui adentro", "18C", None),
    ("hace 29 grados", "29C", None),
    ("sixty two degrees", "62F", None),
    ("sesenta y dos grados", "62F", None),
    ("62.5 on the thermometer", "62.5F", None),
    ("set to 70 reads 61", "61F", "70F"),
    ("reads 61 set to 70", "61F", "70F"),
    ("dice 86 y lo tengo en 68", "86F", "68F"),
    ("lo tengo en 68 y dice 86", "86F", "68F"),
    ("room is 66, thermostat 72", "66F", "72F"),
    ("no sube de 64 aunque lo ponga en 72", "64F", "72F"),
    ("it was 70 yesterday, now 61", "61F", None),
    ("temp went from 70 to 62", "62F", None),
    ("20 outside and 61 inside", "61F", None),
    ("afuera esta a menos 10 y adentro 60", "60F", None),
    ("either 78 or 64, set to 70", None, "70F"),
    ("not sure if 68 is the temp or the setting", None, None),
    ("feels like 50", None, None),
    ("by law it should be 68", None, None),
    ("my mom is 81", None, None),
    ("my son is 8 months old", None, None),
    ("apt 72 has no heat", None, None),
    ("no heat at 450 Oak Street", None, None),
    ("no heat at canal street 77", None, None),
    ("no heat, canal st 72, apt 5", None, None),
    ("40 degrees in the street, inside 60", "60F", None),
    ("84 degrees in here and thermostat says 70", "84F", "70F"),
    ("hace 84 grados aqui y el termostato dice 70", "84F", "70F"),
    ("the thermostat says 62 in here", "62F", None),
    ("mi mama tiene 85", None, None),
    ("mi mama tiene 85 y esta helada", None, None),
    ("no heat for 48 hours", None, None),
    ("I waited 30 minutes", None, None),
    ("680", None, None),
    ("-4", None, None),
    ("bedroom is 58 and cold, kitchen is 70", "58F", None),
    ("31 grados, mucho calor", "31C", None),
    ("I'm in 6F and its 57", "57F", None),
]


@pytest.mark.parametrize(("text", "room", "setpoint"), _TEMPERATURES)
def test_each_number_gets_its_role(text: str, room: str | None, setpoint: str | None) -> None:
    """The reading and the setting are told apart, and from ages, hours, doors and the weather."""
    reading = read(text)
    got = [
        None if value is None else f"{value.value:g}{value.unit}"
        for value in (reading.room_temp, reading.setpoint)
    ]
    assert got == [room, setpoint]


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("reads 62 set to 70", (Kind.TOO_COLD,)),
        ("set to 66, reads 80", (Kind.TOO_HOT,)),
        ("reads 69 set to 70", ()),
        ("its 55 in here", (Kind.TOO_COLD,)),
        ("it should be 68 by law and its 61", (Kind.TOO_COLD,)),
        ("either 78 or 64 in here", (Kind.TOO_COLD, Kind.TOO_HOT)),
    ],
)
def test_numbers_alone_make_a_complaint(text: str, kinds: tuple[Kind, ...]) -> None:
    """A reading away from the setting is a complaint without any other word."""
    assert read(text).kinds == kinds


@pytest.mark.parametrize(
    ("text", "care"),
    [
        ("my mom is 81", (Care.OVER65,)),
        ("tengo 70 años", (Care.OVER65,)),
        ("my mom is 58", ()),
        ("3 month old baby", (Care.INFANT,)),
        ("mi bebé de 8 meses", (Care.INFANT,)),
        ("my son is 8 months old", (Care.INFANT,)),
        ("my 4 year old", (Care.CHILD,)),
        ("my daughter is 14", (Care.CHILD,)),
        ("im 34 weeks pregnant", (Care.PREGNANT,)),
        ("building is 80 years old", ()),
        ("the neighbors have a baby", ()),
        ("no kids, nobody sick", ()),
        ("I'll call you, im sick of this", ()),
    ],
)
def test_ages_tell_who_is_at_risk(text: str, care: tuple[Care, ...]) -> None:
    """Asked who is at risk: ages in years, months and weeks decide, others' homes do not count."""
    assert read(text, TopicId("q_vuln")).care == care


@pytest.mark.parametrize(
    ("text", "apartment"),
    [
        ("no heat in apt 4B", "4B"),
        ("apt #4b no heat", "4B"),
        ("this is 4-B, its cold", "4B"),
        ("#4 B", "4B"),
        ("apto. 12 no hay calefaccion", "12"),
        ("I'm in 2F and its cold", "2F"),
        ("its 62F in here", None),
        ("talked to 2D and 2F same thing", None),
        ("no heat", None),
    ],
)
def test_the_door_is_read_from_the_text(text: str, apartment: str | None) -> None:
    """An apartment is understood in the ways people write it, and not taken from a temperature."""
    place = read(text).place
    assert (place.apartment if place else None) == apartment
