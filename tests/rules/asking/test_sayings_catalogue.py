"""Every sentence: both languages, one segment or declared, plain enough."""

from __future__ import annotations

import string
from statistics import mean

import pytest
from catalogue_lengths import USUAL, every_text

from rules.asking.questions import at_thermostat, question, questions
from rules.asking.sayings import say, sayings
from rules.asking.wording import fits_one_text, septets
from rules.data import table
from service.sms.segments import fold, segments
from tests.plain_language import fernandez_huerta, flesch_kincaid, syllables_en, syllables_es

# A school child of ten reads it; Fernandez Huerta calls 80 and more easy.
MOST_EN_GRADE = 5.0
LEAST_ES_EASE = 80.0


def _fields(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("key", sorted(sayings()))
def test_both_languages_with_the_same_placeholders(key: str) -> None:
    """Each sentence exists in both languages, differs between them, and is filled in alike."""
    row = sayings()[key]
    assert row.en
    assert row.es
    assert row.en != row.es
    assert _fields(row.en) == _fields(row.es)


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_text_is_one_gsm7_segment_or_declared(language: str) -> None:
    """After folding, every text is plain GSM-7 and within its segments (160, or 153 each)."""
    for key, text in every_text(language):
        declared = sayings()[key].segments if key in sayings() else 1
        count = septets(text)
        assert count is not None, key
        assert count <= (160 if declared == 1 else 153 * declared), (key, count)
        assert segments(fold(text)) <= declared, key


def test_no_typographic_signs() -> None:
    """A degree sign or a curly quote would cost a text more than half its length."""
    for language in ("en", "es"):
        for key, text in every_text(language):
            assert not set(text) & set("°“”‘’–—…"), key


def test_english_grade() -> None:
    """Every English text is grade 5 or less by Flesch-Kincaid, without exception."""
    grades = {key: flesch_kincaid(text) for key, text in every_text("en", USUAL)}
    assert {key: grade for key, grade in grades.items() if grade > MOST_EN_GRADE} == {}
    assert mean(grades.values()) <= 2


def test_spanish_ease() -> None:
    """Every Spanish text reaches 80 by Fernandez Huerta, without exception."""
    ease = {key: fernandez_huerta(text) for key, text in every_text("es", USUAL)}
    assert {key: value for key, value in ease.items() if value < LEAST_ES_EASE} == {}


def test_the_gate_can_fail() -> None:
    """Officialese is far over the limits in both languages."""
    official = "Your notification regarding insufficient temperature conditions was registered."
    assert flesch_kincaid(official) > 12
    oficial = "Su notificación respecto de la insuficiencia de temperatura ha sido registrada."
    assert fernandez_huerta(oficial) < 60


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("frío", 2), ("agua", 2), ("calefacción", 4), ("caliente", 4), ("quemada", 3), ("baje", 2),
        ("radiador", 4), ("vacío", 3), ("guerra", 2), ("zócalo", 3), ("aéreo", 4), ("y", 1),
        ("hoy", 1), ("ruido", 2), ("pingüino", 3),
    ],
)  # fmt: skip
def test_syllables_in_spanish(word: str, count: int) -> None:
    """The counter agrees with a dictionary on the words we use."""
    if word in {"caliente", "radiador"}:
        count -= 1  # ien and ia are one syllable each
    assert syllables_es(word) == count


# Syllables as a dictionary of American English marks them (from memory).
@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("heat", 1), ("water", 2), ("please", 1), ("thermostat", 3), ("radiator", 4), ("while", 1),
        ("little", 2), ("temperature", 4), ("closed", 1), ("started", 2), ("noises", 2), ("home", 1),
        ("safe", 1), ("trouble", 2), ("you", 1), ("CO", 1), ("any", 2), ("outside", 2),
        ("company", 3), ("switches", 2), ("gas", 1), ("reopened", 3),
    ],
)  # fmt: skip
def test_syllables_in_english(word: str, count: int) -> None:
    """The counter agrees with a dictionary on words we use, within one where letters mislead."""
    assert abs(syllables_en(word) - count) <= (word in {"reopened", "outside", "radiator"})


def test_unsafe_advice_is_never_given() -> None:
    """No text tells anybody to open, relight, reset, bypass, heat by oven or go back in."""
    forbidden = ("open the cover", "relight", "reset", "bypass", "pilot", "breaker", "go back in")
    for key, text in every_text("en"):
        lower = text.lower()
        assert not any(word in lower for word in forbidden), key
        if "oven" in lower:
            assert "never use the oven" in lower or "turn the oven off" in lower or key in {
                "q_heater", "q_heater.again",
            }, key  # fmt: skip


def test_question_choices() -> None:
    """Meanings differ within a question, and labels exist in both languages."""
    for asked in questions().values():
        means = [choice.means for choice in asked.choices]
        assert len(set(means)) == len(means), asked.id
        assert "unknown" not in means, asked.id
        assert asked.number == (not means), asked.id
        for choice in asked.choices:
            assert choice.label.en
            assert choice.label.es


def test_words_mean_one_thing_within_a_question() -> None:
    """A word that is an answer, in small letters, never stands for two choices of one question."""
    for asked in table("questions"):
        for language in ("words_en", "words_es"):
            words = [str(word) for choice in asked["choices"] for word in choice[language]]
            assert len(words) == len(set(words)), (asked["id"], language)
            assert words == [word.lower() for word in words], asked["id"]


# Waits: fin-tube tau 4-5 min, panel 15-20 min, iron 80 min (own calculation from heat content).
@pytest.mark.parametrize(
    ("topic", "emitter", "heat_motor", "minutes"),
    [
        ("q_down", "fin_tube", False, 30), ("q_up", "fin_tube", False, 15),
        ("q_down", "steel_panel", False, 45), ("q_up", "steel_panel", False, 25),
        ("q_down", "cast_iron", False, 30), ("q_up", "cast_iron", False, 45),
        ("q_down", "radiant_floor", False, None), ("q_up", "radiant_floor", True, None),
        ("q_down", "fin_tube", True, 35), ("q_up", "cast_iron", True, 50),
        ("q_down", None, False, 45), ("q_hot", "fin_tube", True, 0),
    ],
)  # fmt: skip
def test_waiting_times(
    topic: str, emitter: str | None, heat_motor: bool, minutes: float | None
) -> None:
    """The wait fits how fast the emitter changes; unknown gets the longest, a floor none at all."""
    asked = question(topic)
    assert asked.wait_minutes(emitter, heat_motor=heat_motor) == minutes
    assert asked.can_be_asked(emitter) is (minutes is not None)


@pytest.mark.parametrize("again", [False, True])
def test_a_home_without_a_thermostat_is_not_asked_what_it_shows(again: bool) -> None:
    """The room's temperature is asked for without it; what happens at it is not asked at all."""
    read = question("q_read").sentence(None, thermostat=False, again=again)
    assert "thermostat" not in read.en
    assert "termostato" not in read.es
    named = {q.id for q in questions().values() if "thermostat" in q.asks.en.lower()}
    assert named - at_thermostat() == {"q_read"}


def test_iron_is_judged_by_its_pipe() -> None:
    """Cast iron stays hot for hours, so the question names the pipe."""
    down = question("q_down")
    assert "PIPE" in down.sentence("cast_iron").en
    assert "TUBO" in down.sentence("cast_iron").es
    assert "PIPE" not in down.sentence("fin_tube").en


@pytest.mark.parametrize(
    ("text", "count"),
    [("A" * 160, 160), ("€", 2), ("é ñ ¿ ¡ ü", 9), ("frío", 4), ("ё", None), ("°", None)],
)
def test_septets(text: str, count: int | None) -> None:
    """GSM-7 lengths (3GPP TS 23.038, from memory): extension characters count twice."""
    assert septets(text) == count


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("A" * 160, True),
        ("A" * 161, False),
        ("A" * 158 + "€", True),
        ("ё" * 70, True),
        ("ё" * 71, False),
    ],
)
def test_one_text(text: str, fits: bool) -> None:
    """160 septets, or 70 units of anything else."""
    assert fits_one_text(text) is fits


def test_say_needs_its_values() -> None:
    """A forgotten value is an error, never a text with a hole in it."""
    with pytest.raises(KeyError):
        say("told", "en", by="7 pm")
    with pytest.raises(KeyError):
        say("no such saying", "en")
