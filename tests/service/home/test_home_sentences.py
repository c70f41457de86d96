"""Every sentence of the tenant's page: both languages, filled in alike, plain, read as meant."""

from __future__ import annotations

import string
from collections.abc import Iterator

import pytest

from rules.data import table
from rules.reading import danger_in, read
from service.usecases.home.web_questions import choice_text
from service.usecases.home.web_words import LANGUAGES, danger_labels, danger_says, kind_says, saying
from tests.plain_language import (
    fernandez_huerta,
    flesch_kincaid,
    syllables_en,
    syllables_es,
    words_in,
)

# As for texts: a school grade for English, an ease of reading for Spanish. The formulas count words a
# sentence, so they say nothing of labels: those of up to three words, and names of homes.
MOST_EN_GRADE = 5.0
LEAST_ES_EASE = 80.0
LABEL_WORDS = 3
NAMES = {"page.home"}
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


def sentences(language: str) -> Iterator[tuple[str, str]]:
    """What a tenant reads and is more than a label; not what a button says to us."""
    for key, row in rows():
        text = row[language].format(**FILLED)
        is_ours = key.endswith(".says") or key.startswith("says.")
        if not is_ours and key not in NAMES and len(words_in(text)) > LABEL_WORDS:
            yield key, text


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
    """Every sentence is grade 5 or less by Flesch-Kincaid."""
    grades = {key: flesch_kincaid(text) for key, text in sentences("en")}
    assert len(grades) > 60
    assert {key: grade for key, grade in grades.items() if grade > MOST_EN_GRADE} == {}


def test_spanish_is_plain() -> None:
    """Every sentence reaches 80 by Fernandez Huerta."""
    ease = {key: fernandez_huerta(text) for key, text in sentences("es")}
    assert len(ease) > 60
    assert {key: value for key, value in ease.items() if value < LEAST_ES_EASE} == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_labels_are_short_words(language: str) -> None:
    """A label of up to three words has no word of more than four syllables."""
    count = syllables_es if language == "es" else syllables_en
    long = {
        (key, word)
        for key, row in rows()
        if key not in NAMES
        for word in words_in(row[language].format(**FILLED))
        if count(word) > 4
    }
    assert long == set()


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
