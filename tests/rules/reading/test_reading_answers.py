"""Answers to the question asked, in numbers, in words, in both languages, or none."""

from __future__ import annotations

import pytest

from rules.model import Intent, Kind, Temperature, TopicId
from rules.reading import read

# Topic asked, text, what it means; from the questions and their choices in rules/data/questions.yaml.
_ANSWERS: list[tuple[str | None, str, str | None]] = [
    # Words people used when the conversation was played.
    ("q_up", "warmer", "warms"),
    ("q_up", "its getting there", "warms"),
    ("q_up", "un poco", "warms"),
    ("q_up", "same", "stays_cold"),
    ("q_up", "sigue igual", "stays_cold"),
    ("q_up", "ya se calento", "warms"),
    ("q_up", "I forgot", "cannot_tell"),
    ("q_up", "se me olvido", "cannot_tell"),
    ("q_down", "not as hot", "cooling"),
    ("q_down", "it went down", "cooling"),
    ("q_down", "un poco menos", "cooling"),
    ("q_down", "no lo baje", "cannot_tell"),
    ("q_down", "didnt change", "still_hot"),
    ("q_hot", "it burns", "hot"),
    ("q_hot", "room temp", "cold"),
    ("q_hot", "like ice", "cold"),
    ("q_start", "since monday", "days"),
    ("q_start", "antier", "days"),
    ("q_start", "every year", "always"),
    ("q_start", "since we moved", "always"),
    ("q_start", "a couple hours", "sudden_today"),
    ("q_start", "hace rato", "sudden_today"),
    ("q_dhw", "si hay", "normal"),
    ("q_dhw", "sale helada", "none"),
    ("q_dhw", "so so", "lukewarm"),
    ("q_screen", "low batt", "low_battery"),
    ("q_screen", "72", "normal"),
    ("q_screen", "todo negro", "blank"),
    ("q_screen", "ok", None),
    ("q_noise", "like a tea kettle", "hiss"),
    ("q_noise", "como martillo", "bang_repeat"),
    ("q_noise", "vibrating", "hum"),
    ("q_noise_when", "a cada rato", "constant"),
    ("q_leak", "un charco", "drip"),
    ("q_leak", "flooding", "stream"),
    ("q_leak", "ya no", "none"),
    ("q_leak", "yes", None),
    ("q_window", "no", "closed"),
    ("q_window", "yes", "open"),
    ("q_neigh", "only us", "no"),
    ("q_onoff", "poquito", "steady_weak"),
    ("right_now", "perfect", "yes"),
    ("right_now", "not yet", "no"),
    ("right_now", "mas o menos", "no"),
    ("right_now", "nadie vino", "no"),
    ("turn_down", "it wont go down", "cannot"),
    ("turn_up", "no tengo termostato", "cannot"),
    ("q_hot", "1", "hot"),
    ("q_hot", "the number 3", "cold"),
    ("q_rooms", "some guy came and left", None),
    ("q_rooms", "some", "some"),
    ("right_now", "he said he needs a part", "no"),
    ("q_hot", "It does not feel warm, no.", "cold"),
    ("q_neigh", "i think so", "yes"),
    ("q_neigh", "creo que sí", "yes"),
    ("q_neigh", "i dont think so", "no"),
    ("q_hot", " 1.", "hot"),
    ("q_hot", "１", "hot"),
    ("q_hot", "①", "hot"),
    ("q_hot", "one", "hot"),
    ("q_hot", "uno", "hot"),
    ("q_hot", "1️⃣", "hot"),
    ("q_hot", "the first", "hot"),
    ("q_hot", "la primera", "hot"),
    ("q_hot", "opcion 2", "warm"),
    ("q_hot", "11", None),
    ("q_hot", "-1", None),
    ("q_hot", "1 and 3", None),
    ("q_hot", "0", "unknown"),
    ("q_hot", "not sure", "unknown"),
    ("q_hot", "no se", "unknown"),
    ("q_hot", "7", None),
    ("q_hot", "its burning hot", "hot"),
    ("q_hot", "stone cold", "cold"),
    ("q_hot", "not hot", "cold"),
    ("q_hot", "no esta caliente", None),
    ("q_hot", "tibio", "warm"),
    ("q_hot", "kind of warm", "warm"),
    ("q_hot", "caliente", "hot"),
    ("q_hot", "helado", "cold"),
    ("q_hot", "the radiator is ice cold", "cold"),
    ("q_hot", "lukewarm i guess", "warm"),
    ("q_hot", "2, its warm", "warm"),
    ("q_hot", "3) cold", "cold"),
    ("q_hot", "Number 3", "cold"),
    ("q_hot", "dos", "warm"),
    ("q_hot", "tres", "cold"),
    ("q_hot", "cero", "unknown"),
    ("q_hot", "idk", "unknown"),
    ("q_hot", "🤷", "unknown"),
    ("q_hot", "banana", None),
    ("q_hot", "hot hot hot", "hot"),
    ("q_hot", "1!", "hot"),
    ("q_hot", "#1", "hot"),
    ("q_hot", "no. 1", "hot"),
    ("q_hot", "second", "warm"),
    ("q_hot", "COLD", "cold"),
    ("q_hot", "frio", "cold"),
    ("q_down", "still hot", "still_hot"),
    ("q_down", "it is cold now", "cooling"),
    ("q_down", "sigue caliente", "still_hot"),
    ("q_down", "ya se enfrio", "cooling"),
    ("q_down", "i didnt try", "cannot_tell"),
    ("q_down", "yes still burning", "still_hot"),
    ("q_up", "no nothing", "stays_cold"),
    ("q_up", "yes getting warm", "warms"),
    ("q_up", "still cold", "stays_cold"),
    ("q_up", "si ya se calienta", "warms"),
    ("q_screen", "its blank", "blank"),
    ("q_screen", "battery sign", "low_battery"),
    ("q_screen", "normal", "normal"),
    ("q_screen", "it has no screen", "no_screen"),
    ("q_screen", "apagada", "blank"),
    ("q_screen", "shows 68", "normal"),
    ("q_rooms", "whole apartment", "all"),
    ("q_rooms", "just the bedroom", "one_room"),
    ("q_rooms", "todo", "all"),
    ("q_rooms", "un cuarto", "one_room"),
    ("q_rooms", "la sala", "one_room"),
    ("q_rooms", "everywhere", "all"),
    ("q_rooms", "two rooms", "some"),
    ("q_rooms", "all of them", "all"),
    ("q_neigh", "yes", "yes"),
    ("q_neigh", "nope", "no"),
    ("q_neigh", "yup", "yes"),
    ("q_neigh", "they do too", "yes"),
    ("q_neigh", "dont know", "unknown"),
    ("q_neigh", "sí", "yes"),
    ("q_neigh", "no", "no"),
    ("q_neigh", "si", "yes"),
    ("q_start", "2 days ago", "days"),
    ("q_start", "today", "sudden_today"),
    ("q_start", "since last night", "sudden_today"),
    ("q_start", "3 weeks", "weeks"),
    ("q_start", "hace una semana", "weeks"),
    ("q_start", "siempre", "always"),
    ("q_start", "ayer", "days"),
    ("q_start", "2", "days"),
    ("q_start", "3", "weeks"),
    ("q_window", "no all closed", "closed"),
    ("q_window", "yes one is open", "open"),
    ("q_window", "ac in window", "AC_sleeve"),
    ("q_window", "todas cerradas", "closed"),
    ("q_window", "the windows are not open", "closed"),
    ("q_block", "yes the couch", "blocked"),
    ("q_block", "no", "clear"),
    ("q_block", "nothing", "clear"),
    ("q_dhw", "its fine", "normal"),
    ("q_dhw", "no hot water", "none"),
    ("q_dhw", "tibia", "lukewarm"),
    ("q_dhw", "way too hot", "too_hot"),
    ("q_noise", "banging", "bang_repeat"),
    ("q_noise", "one loud bang", "bang_single"),
    ("q_noise", "like water bubbling", "gurgle"),
    ("q_noise", "un golpe", "bang_single"),
    ("q_noise", "hissing", "hiss"),
    ("q_noise", "zumbido", "hum"),
    ("q_noise_when", "when the heat comes on", "start"),
    ("q_noise_when", "all the time", "constant"),
    ("q_noise_when", "siempre", "constant"),
    ("q_leak", "a few drops", "drip"),
    ("q_leak", "its pouring", "stream"),
    ("q_leak", "no", "none"),
    ("q_read", "62", "62 F"),
    ("q_read", "its 62 degrees", "62 F"),
    ("q_read", "17 c", "17 C"),
    ("q_read", "sixty two", "62 F"),
    ("q_read", "680", None),
    ("q_read", "-4", None),
    ("q_read", "0", "unknown"),
    ("q_read", "20 C", "20 C"),
    ("q_read", "68F", "68 F"),
    ("q_read", "sixty", "60 F"),
    ("q_read", "no se", "unknown"),
    ("q_read", "58 but set to 70", "58 F"),
    ("q_set", "70", "70 F"),
    ("q_set", "i have it on 72", "72 F"),
    ("q_set", "setenta", "70 F"),
    ("q_onoff", "never", "never"),
    ("q_onoff", "a veces", "sometimes"),
    ("q_onoff", "comes and goes", "sometimes"),
    ("q_onoff", "no never", "never"),
    ("q_mode", "it says heat", "heat"),
    ("q_mode", "OFF", "off"),
    ("q_mode", "hold", "hold"),
    ("right_now", "yes", "yes"),
    ("right_now", "no still cold", "no"),
    ("right_now", "all good", "yes"),
    ("right_now", "todavia no", "no"),
    ("right_now", "si ya", "yes"),
    ("right_now", "yes thank you!", "yes"),
    ("right_now", "1", "yes"),
    ("right_now", "ya quedo bien gracias", "yes"),
    ("right_now", "nope same", "no"),
    ("apartment_which", "2", "2"),
    ("apartment_which", "the first", "1"),
    ("apartment_which", "4B", "4B"),
    ("place", "12 Oak street apt 4b", "4B"),
    ("place", "apt #4b", "4B"),
    ("place", "4-B", "4B"),
    ("place", "#4 B", "4B"),
    ("place", "225 Main St #12", "12"),
    ("place", "calle 8 numero 15 apto 3c", "3C"),
    ("q_vuln", "yes my mom is 81", "yes"),
    ("q_vuln", "no", "no"),
    ("q_vuln", "si un bebe", "yes"),
    ("q_safety", "no", "none"),
    ("q_safety", "none of that", "none"),
    ("q_safety", "nada de eso", "none"),
    ("q_steam", "one pipe", "one_pipe_hiss"),
    ("q_heater", "the oven", "oven"),
    ("q_heater", "no", "none"),
    ("q_time", "at night", "night"),
    ("q_time", "morning", "morning"),
    ("q_time", "in the morning", "morning"),
    ("q_time", "good morning", None),
    # A choice, and how warm it is by now; what was well for a while, and is not any more.
    ("q_dhw", "1 and its 68 now", "normal"),
    ("q_rooms", "1 y está a 60", "all"),
    ("q_hot", "2 degrees and 68", None),
    ("q_screen", "well it was fine at thanksgiving and now this", None),
    ("q_dhw", "well it was fine at thanksgiving and now this", None),
    ("right_now", "it was ok for a day then out again", "no"),
    ("right_now", "its fine now", "yes"),
    ("q_nothing", "1", None),
    (None, "1", None),
]


@pytest.mark.parametrize(("topic", "text", "means"), _ANSWERS)
def test_an_answer_means_what_the_choices_say(
    topic: str | None, text: str, means: str | None
) -> None:
    """A text answers the question asked with the choice it names, or does not answer it."""
    reading = read(text, None if topic is None else TopicId(topic))
    assert (reading.answer.means if reading.answer else None) == means
    if means is not None:
        assert reading.intent is Intent.ANSWER


def test_number_for_the_setting_is_the_setting() -> None:
    """The number given to "what is it set to" is the setting and no reading."""
    reading = read("72", TopicId("q_set"))
    assert reading.setpoint == Temperature(72.0, "F")
    assert reading.room_temp is None


def test_number_for_the_reading_is_the_room() -> None:
    """The number given to "what does it show" is the room's temperature."""
    reading = read("58", TopicId("q_read"))
    assert reading.room_temp == Temperature(58.0, "F")
    assert reading.setpoint is None


def test_complaint_in_place_of_an_answer_is_heard() -> None:
    """A text that answers nothing but complains tells its trouble, whatever was asked."""
    reading = read("now water is dripping from the ceiling too", TopicId("q_hot"))
    assert reading.answer is None
    assert reading.kinds == (Kind.LEAK,)


def test_unknown_topic_is_no_error() -> None:
    """A topic nobody knows leaves the text unanswered."""
    assert read("2", TopicId("q_of_another_version")).answer is None


@pytest.mark.parametrize("text", ["no se", "No sé.", "no idea", "I dont know"])
def test_not_knowing_is_not_a_no(text):
    """ "No sé" to a yes-or-no question is not sure, not no."""
    answer = read(text, TopicId("q_neigh")).answer

    assert answer is not None
    assert answer.means == "unknown"
