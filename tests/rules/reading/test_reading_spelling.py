"""Misspelt words are read as the word they are meant for, and words that exist are left alone."""

from __future__ import annotations

import pytest

from rules.model import Intent, Kind
from rules.reading import danger_in, read
from rules.reading.spelling import nearest_known
from rules.reading.vocabulary import vocabulary


# Misspellings common in texting and in Spanish written by ear (common practice, no source).
@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("coooold", "cold"),
        ("hto", "hot"),
        ("aclienta", "calienta"),
        ("kithcen", "kitchen"),
        ("comming", "coming"),
        ("anbody", "anybody"),
        ("kiero", "quiero"),
        ("ablar", "hablar"),
        ("acava", "acaba"),
        ("aser", "hacer"),
        ("calinte", "caliente"),
        ("heladisimo", "helado"),
        ("temostato", "termostato"),
    ],
)
def test_a_misspelt_word_is_mended(written: str, meant: str) -> None:
    """Doubled, changed about, left out, spelt by ear or made stronger: the word is known."""
    assert written not in vocabulary().known
    assert nearest_known(written) == meant


@pytest.mark.parametrize(
    "text",
    [
        "the heat is bot working",
        "the heat sint coming on again",
        "heat insnt working",
        "el radiador no aclienta",
    ],
)
def test_a_not_with_a_slip_in_it_is_no_good_news(text: str) -> None:
    """One key beside the right one, or two letters changed about, and it is still a complaint."""
    reading = read(text)
    assert (reading.intent, reading.kinds) == (Intent.COMPLAINT, (Kind.TOO_COLD,))


@pytest.mark.parametrize(
    "word", ["cold", "calor", "color", "urge", "smile", "llama", "Dorvane", "xyzzy"]
)
def test_other_words_stay_what_they_are(word: str) -> None:
    """Known words, names and nonsense are no misspellings of anything."""
    assert nearest_known(word) == word


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("carbon monoxcide alram beeping", "co"),
        ("huele a gass en la cosina", "gas"),
        ("theres smkoe in the hall", "fire"),
        ("el enchufe echo cihspas", "electrical"),
        ("room full of stam cant see", "scald"),
    ],
)
def test_a_misspelt_danger_is_a_danger(text: str, kind: str) -> None:
    """A slip of the thumb hides no danger."""
    assert kind in danger_in(text)


@pytest.mark.parametrize(
    "text", ["I spoke to Gus", "maria is home", "we smile a lot", "los sobres llegaron"]
)
def test_a_look_alike_word_is_no_danger(text: str) -> None:
    """Words and names one letter from a danger start no alarm."""
    assert danger_in(text) == ()


def test_a_number_written_as_one_word_is_a_number() -> None:
    """ "Sixtytwo" and "sesentaidos" are 62, "diez y ocho" is 18."""
    for text in ("its sixtytwo in here", "estamos a sesentaidos grados"):
        room = read(text).room_temp
        assert room is not None
        assert (room.value, room.unit) == (62, "F")
    room = read("estamos a diez y ocho grados").room_temp
    assert room is not None
    assert (room.value, room.unit) == (18, "C")
