"""What a text answers unasked, how bare it is, and which language it shows."""

from __future__ import annotations

import pytest

from rules.asking.questions import questions
from rules.model import Kind, Language
from rules.reading import read, volunteered
from rules.reading.phrases import section


@pytest.mark.parametrize(
    ("text", "answers"),
    [
        ("solo cuando prende", {"q_noise_when": "start"}),
        ("every time the heat comes on", {"q_noise_when": "start"}),
        ("the pipes bang when I take a shower", {"q_noise_when": "dhw_use"}),
        ("cuando se apaga", {"q_noise_when": "stop"}),
        ("ya desde hace semanas", {"q_start": "weeks"}),
        ("its cold since yesterday", {"q_start": "days"}),
        ("llevamos 3 dias sin calor", {"q_start": "days"}),
        ("since this morning", {"q_start": "sudden_today"}),
        ("no heat since last night", {"q_start": "sudden_today"}),
        ("no heat since the weekend", {"q_start": "days"}),
        ("every winter same thing", {"q_start": "always"}),
        ("it comes and goes", {"q_onoff": "sometimes"}),
        ("si tenemos agua caliente", {"q_dhw": "normal"}),
        ("my neighbor has the same", {"q_neigh": "yes"}),
        ("es peor de noche", {"q_time": "night"}),
        ("the hot water is scalding", {"q_dhw": "too_hot"}),
        ("water in the shower comes out boiling hot", {"q_dhw": "too_hot"}),
        ("el agua de la ducha sale hirviendo", {"q_dhw": "too_hot"}),
        ("the hot water is way too hot", {"q_dhw": "too_hot"}),
        ("crazy hot water", {"q_dhw": "too_hot"}),
        ("subí el termostato a 75 y nada, sigue frío", {"q_up": "stays_cold"}),
        ("bajé el termostato y sigue saliendo calor", {"q_down": "still_hot"}),
        ("thermostat down at 55 makes no difference", {"q_down": "still_hot"}),
        # What was done, how it is set, what stands where.
        ("I changed the batteries last week", {"q_batteries": "changed"}),
        ("ya le cambie las pilas y nada", {"q_batteries": "changed"}),
        ("havent changed the batteries in years", {"q_batteries": "old"}),
        ("low battery sign on the thermostat", {"q_screen": "low_battery"}),
        ("it shows a little battery sign", {"q_screen": "low_battery"}),
        ("theres a battery symbol blinking", {"q_screen": "low_battery"}),
        ("sale una pila en la pantalla", {"q_screen": "low_battery"}),
        ("the smoke alarm has a battery light blinking", {}),
        ("se acabaron las pilas", {"q_screen": "low_battery"}),
        ("the thermostat says OFF", {"q_mode": "off"}),
        ("ya lo puse en heat", {"q_mode": "heat"}),
        ("i set it to heat", {"q_mode": "heat"}),
        ("its on fan only", {"q_mode": "cool"}),
        ("thermostat is on a schedule", {"q_mode": "schedule"}),
        ("dice horario", {"q_mode": "schedule"}),
        ("thermostat has a leaf and says eco", {"q_mode": "hold"}),
        ("it says hold", {"q_mode": "hold"}),
        ("la ventana no cierra", {"q_window": "open"}),
        ("ya la cerre", {"q_window": "closed"}),
        ("AC is still in the window", {"q_window": "AC_sleeve"}),
        ("nothing in front of the radiator", {"q_block": "clear"}),
        ("moved the bed away from the radiator", {"q_block": "clear"}),
        ("tengo la cama pegada al radiador", {"q_block": "blocked"}),
        ("its cold only in the bedroom", {"q_rooms": "one_room"}),
        ("solo en la sala hace frio", {"q_rooms": "one_room"}),
        ("its only me, my neighbors have heat", {"q_neigh": "no"}),
        ("solo a mi me pasa, los vecinos estan bien", {"q_neigh": "no"}),
        ("no heat in the whole building", {"q_neigh": "yes"}),
        ("4B has no heat either", {"q_neigh": "yes"}),
        ("my neighbor in 3C too", {"q_neigh": "yes"}),
        ("los de arriba tampoco tienen", {"q_neigh": "yes"}),
        ("already turned it up to 75 and nothing", {"q_up": "stays_cold"}),
        ("le subi y no pasa nada", {"q_up": "stays_cold"}),
        ("turned it down and its still boiling", {"q_down": "still_hot"}),
        ("lo baje y sigue caliente", {"q_down": "still_hot"}),
        ("barely any heat", {"q_onoff": "steady_weak"}),
        ("el agua sale tibia", {"q_dhw": "lukewarm"}),
        ("no tengo termostato", {"q_screen": "no_screen"}),
        ("when it comes up", {"q_noise_when": "start"}),
        ("the floor is flooded", {"q_leak": "stream"}),
        ("i cant reach the thermostat", {"q_up": "cannot_tell", "q_down": "cannot_tell"}),
        ("no alcanzo el termostato", {"q_up": "cannot_tell", "q_down": "cannot_tell"}),
        # What only looks like it.
        ("i cant turn the thermostat past 70", {}),
        ("a pic of water", {}),
        ("a bucket is under it", {}),
        ("changed the battery in the smoke detector", {}),
        ("should i change the batteries?", {}),
        ("someone needs to change the batteries", {}),
        ("thermostat is off by 5 degrees", {}),
        ("how do i put it on heat", {}),
        ("it wont go to heat", {}),
        ("they scheduled a visit, is it on schedule?", {}),
        ("i took the ac out of the window", {}),
        ("no couch against the radiator", {}),
        ("only the kitchen has heat", {}),
        ("only the bedroom and the kitchen are cold", {}),
        ("its only me and my baby here", {}),
        ("is it just me or is the whole building cold", {}),
        ("my neighbor is making noise", {}),
        ("i just turned it up and nothing", {}),
        ("its pouring rain and im cold", {}),
        ("radiator is lukewarm", {}),
        ("i didnt touch the thermostat", {}),
        ("the hot water is not too hot", {}),
        ("hot water is hot but the radiator is cold", {}),
        ("water leaking from the pipe is boiling hot", {"q_leak_at": "pipe"}),
        ("my radiator is leaking", {"q_leak_at": "radiator"}),
        ("esta goteando agua del radiador", {"q_leak_at": "radiator"}),
        ("brown water stain on the ceiling", {"q_leak_at": "ceiling"}),
        ("se moja el techo", {"q_leak_at": "ceiling"}),
        ("the pipe in the corner is wet", {"q_leak_at": "pipe"}),
        ("leak under the kitchen sink", {"q_leak_at": "elsewhere"}),
        ("the radiator is cold, no leak", {}),
        ("can someone come today", {}),
        ("I will be gone for 3 days", {}),
        ("I called 3 days ago and waited", {}),
        ("i dont have hot water", {}),
        ("when does the heat come on", {}),
        ("no para", {}),
        ("hoy", {}),
        ("", {}),
    ],
)
def test_what_is_answered_unasked(text: str, answers: dict[str, str]) -> None:
    """Only phrases that can hardly mean anything else answer a question that was not put."""
    assert {str(a.topic): a.means for a in volunteered(text)} == answers


def test_unasked_answers_are_answers_of_the_table() -> None:
    """Every list of phrases names a topic and one of its answers."""
    for name in section("volunteered").lists:
        topic, means = name.removesuffix("_not").split(".")
        assert means in {choice.means for choice in questions()[topic].choices}, name


@pytest.mark.parametrize(
    ("text", "bare"),
    [
        ("1", True), ("yes", True), ("yea", True), ("ok", True), ("ok done", True), ("sí, listo", True),
        ("1 yes", True), ("no", True), ("no puedo", True), ("👍", True), ("57", True), ("a 70", True),
        ("I did it", True), ("its getting warm already", False), ("warm", False), ("I think 68", True),
        ("still cold", False), ("57 in here", False), ("hola", False), ("", False),
    ],
)  # fmt: skip
def test_bare_texts(text: str, bare: bool) -> None:
    """A number, a yes, a no or a "done" says nothing in words of its own."""
    assert read(text).bare is bare


@pytest.mark.parametrize("asked", [None, "q_hot", "q_up"])
@pytest.mark.parametrize(
    "text", ["a 70", "puesto 70", "on 70", "at 70 like always", "a 70 como siempre", "70 puesto"]
)
def test_short_settings(text: str, asked: str | None) -> None:
    """So somebody writes what the thermostat is set to."""
    found = read(text, asked)  # type: ignore[arg-type]
    assert found.setpoint is not None
    assert (found.setpoint.value, found.room_temp) == (70, None)


@pytest.mark.parametrize(
    ("text", "language", "tells"),
    [
        ("57", Language.EN, False),
        ("1", Language.EN, False),
        ("👍", Language.EN, False),
        ("hace mucho frío", Language.ES, True),
        ("its cold in here", Language.EN, True),
    ],
)
def test_a_number_shows_no_language(text: str, language: Language, tells: bool) -> None:
    """English is only the word for nothing told; how many words tell is said beside it."""
    found = read(text)
    assert found.language is language
    assert (found.language_words > 0) is tells


def test_a_radiator_that_wont_stop_banging_is_not_too_hot() -> None:
    """Noise, and nothing of heat."""
    found = read("Buenas, el radiador no para de hacer ruido como martillazos toda la noche")
    assert found.kinds == (Kind.NOISE,)
