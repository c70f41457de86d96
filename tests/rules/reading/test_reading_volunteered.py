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
        ("every winter same thing", {"q_start": "always"}),
        ("it comes and goes", {"q_onoff": "sometimes"}),
        ("si tenemos agua caliente", {"q_dhw": "normal"}),
        ("my neighbor has the same", {"q_neigh": "yes"}),
        ("es peor de noche", {"q_time": "night"}),
        ("the hot water is scalding", {"q_dhw": "too_hot"}),
        ("water in the shower comes out boiling hot", {"q_dhw": "too_hot"}),
        ("el agua de la ducha sale hirviendo", {"q_dhw": "too_hot"}),
        ("the hot water is way too hot", {"q_dhw": "too_hot"}),
        # What only looks like it.
        ("the hot water is not too hot", {}),
        ("hot water is hot but the radiator is cold", {}),
        ("water leaking from the pipe is boiling hot", {}),
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
