"""Every sentence of the tenant's page: both languages, filled in alike, plain, read as meant."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator
from statistics import mean

import pytest

from rules.data import table
from rules.reading import read
from rules.reading.danger import danger_in
from service.usecases.web_show import choice_text
from service.usecases.web_words import LANGUAGES, danger_labels, danger_says, kind_says, saying

# As for texts: a school grade for English, an ease of reading for Spanish.
MOST_EN_GRADE = 6.0
LEAST_ES_EASE = 65.0
VOWELS_ES = re.compile(r"[aeiouáéíóúü]+")
FILLED = {
    "by": "7 pm today",
    "reference": "T-7F3K",
    "time": "7:15 pm today",
    "building": "9 Quarry Street",
    "apartment": "2A",
}


def rows() -> Iterator[tuple[str, dict[str, str]]]:
    """(where it stands, both languages) of every sentence."""
    home = table("home_page")
    for group in ("kinds", "dangers"):
        for key, row in home[group].items():
            yield f"{group}.{key}.label", row["label"]
            yield f"{group}.{key}.says", row["says"]
    for group in ("says", "page"):
        for key, row in home[group].items():
            yield f"{group}.{key}", row


def words_of(text: str) -> list[str]:
    return re.findall(r"[^\W_]+(?:[-'][^\W_]+)*", text)


def sentences_in(text: str) -> int:
    return max(len([p for p in re.split(r"[.!?:]+", text) if words_of(p)]), 1)


@pytest.mark.parametrize(("key", "row"), list(rows()), ids=[key for key, _ in rows()])
def test_both_languages_filled_in_alike(key: str, row: dict[str, str]) -> None:
    """Each sentence exists in both languages and differs, with the same gaps."""
    fields = [
        {name for _, name, _, _ in string.Formatter().parse(row[language]) if name}
        for language in LANGUAGES
    ]
    assert set(row) == set(LANGUAGES)
    assert fields[0] == fields[1]
    assert row["en"] != row["es"] or key == "page.error"


def test_english_is_plain() -> None:
    """Automated readability index (Smith and Senter 1967): grade 6 or less for each sentence of
    eight words or more, and on average far less."""
    grades = {}
    for key, row in rows():
        text = row["en"].format(**FILLED)
        words = words_of(text)
        if len(words) >= 8:
            letters = sum(map(len, words)) / len(words)
            grades[key] = 4.71 * letters + 0.5 * len(words) / sentences_in(text) - 21.43
    assert {k: g for k, g in grades.items() if g > MOST_EN_GRADE} == {}
    assert mean(grades.values()) < 3


def test_spanish_is_plain() -> None:
    """Fernandez Huerta's ease of reading, with vowel groups for syllables: 65 or more for each
    sentence of eight words or more, 80 or more on average."""
    eases = {}
    for key, row in rows():
        text = row["es"].format(**FILLED)
        words = [w for w in words_of(text.lower()) if not w.isdigit()]
        if len(words) >= 8:
            syllables = sum(max(len(VOWELS_ES.findall(w)), 1) for w in words)
            per_sentence = len(words) / sentences_in(text)
            eases[key] = 206.84 - 60 * syllables / len(words) - 1.02 * per_sentence
    assert {k: e for k, e in eases.items() if e < LEAST_ES_EASE} == {}
    assert mean(eases.values()) >= 80


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["too_cold", "too_hot", "no_hot_water", "noise", "leak"])
def test_what_is_ticked_is_read_as_just_that(kind: str, language: str) -> None:
    """The sentence behind a tick is a complaint of that kind, in that language, and no danger."""
    found = read(kind_says((kind,), language), None)
    assert {k.value for k in found.kinds} == {kind}
    assert found.intent.value == "complaint"
    assert found.danger_kinds == ()


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_danger_button_is_read_as_that_danger(language: str) -> None:
    """The word of a button and its sentence alarm alike."""
    for danger, label in danger_labels(language):
        assert danger in danger_in(danger_says(danger, language)), label


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_buttons_are_read_as_meant(language: str) -> None:
    """Fixed closes, person fetches a person, whatever question is out."""
    for current in (None, "q_hot", "q_read", "q_down"):
        assert read(saying("fixed", language), current).intent.value == "resolved"
        assert read(saying("person", language), current).intent.value == "want_human"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_choice_is_read_as_that_choice(language: str) -> None:
    """What picking a choice sends means that choice and says nothing more; "not sure" too."""
    for row in table("questions"):
        for number, choice in enumerate(row["choices"], start=1):
            found = read(choice_text(row["id"], str(number), language), row["id"])
            assert found.answer is not None, row["id"]
            assert found.answer.means == choice["means"]
            assert not found.kinds
            assert not found.danger_kinds
        unsure = read(choice_text(row["id"], "0", language), row["id"]).answer
        assert unsure is not None
        assert unsure.means == "unknown"
