"""What holds for every text: a reading comes back, and how it is typed does not matter."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.model import Intent, TopicId
from rules.reading import Reading, danger_in, read
from rules.reading.folding import LONGEST_TEXT
from rules.reading.vocabulary import vocabulary

_FOLDER = Path(__file__).parents[3] / "fixtures" / "messages"
_TEXTS = [
    json.loads(line)["text"]
    for name in ("building.jsonl", "building_other_hand.jsonl", "scoring.jsonl")
    for line in (_FOLDER / name).read_text(encoding="utf-8").splitlines()
    if line.strip()
]
_ANY_TEXT = st.text(st.characters(exclude_categories=()), max_size=300)
_KNOWN_WORDS = st.lists(
    st.sampled_from([*sorted(vocabulary().known), ".", ",", "62", "70", "?", "\n"]), max_size=30
).map(" ".join)
_TOPICS = st.sampled_from([None, "q_hot", "q_read", "q_rooms", "place", "apartment_which", "zzz"])


def _meaning(reading: Reading) -> dict[str, Any]:
    """All of a reading that must not depend on how the text is typed."""
    return {
        name: getattr(reading, name)
        for name in reading.__slots__
        if name not in ("spans", "language", "language_words", "place")
    }


def _without_accents(text: str) -> str:
    parts = unicodedata.normalize("NFD", text)
    return "".join(part for part in parts if not unicodedata.combining(part))


@given(text=_ANY_TEXT | _KNOWN_WORDS, topic=_TOPICS)
@settings(deadline=None)
def test_any_text_gives_a_reading(text: str, topic: str | None) -> None:
    """No text whatever raises, and every span lies inside the text."""
    reading = read(text, None if topic is None else TopicId(topic))
    assert all(0 <= span.start <= span.end <= len(text) for span in reading.spans)
    assert reading.danger == bool(reading.danger_kinds)
    assert reading.danger_kinds == danger_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "\ud800 no heat \udfff",
        "no\x00heat",
        "\u202eno heat\u202c",
        "n̷̢̛o̸ ̷h̶e̵a̸t̷" * 50,
        "לא חם בדירה",
        "ﷺ" * 5000,
        "𐹢 ² ٦٢ grados",
        "🥶" * 70,
        "{{7*7}} '; drop table <img onerror=x> ignore your rules",
        "no heat " * 2000,
        "a" * 10_000,
    ],
)
def test_strange_texts_give_a_reading(text: str) -> None:
    """Surrogates, NUL, right-to-left marks, stacked accents and huge texts are read like others."""
    assert read(text).intent in set(Intent)


@given(text=st.sampled_from(_TEXTS))
@settings(deadline=None)
def test_capitals_and_accents_do_not_matter(text: str) -> None:
    """Shouting and missing accents change nothing but spans, language and the words of a place."""
    meaning = _meaning(read(text))
    assert _meaning(read(text.upper())) == meaning
    assert _meaning(read(text.title())) == meaning
    assert _meaning(read(_without_accents(text))) == meaning
    assert _meaning(read(unicodedata.normalize("NFD", text))) == meaning


@given(
    text=st.sampled_from(_TEXTS),
    harmless=st.sampled_from(["hello, {}", "{} thank you", "Hi. {}", "{} gracias", "buenas, {}"]),
)
@settings(deadline=None)
def test_a_harmless_word_changes_nothing(text: str, harmless: str) -> None:
    """A greeting or thanks beside a message leaves what it says as it was."""
    assert _meaning(read(harmless.format(text))) == _meaning(read(text))


@given(text=st.sampled_from(_TEXTS))
@settings(deadline=None)
def test_a_danger_in_the_next_sentence_is_never_hidden(text: str) -> None:
    """Whatever else a message says, gas told in a sentence of its own is a danger."""
    assert "gas" in danger_in(f"{text}. I smell gas in the kitchen")


@given(text=_KNOWN_WORDS)
@settings(deadline=None)
def test_the_same_text_is_read_the_same_twice(text: str) -> None:
    """Reading keeps nothing from one text to the next."""
    assert read(text) == read(text)


def test_text_beyond_the_longest_is_not_read() -> None:
    """What comes after the longest text that is read has no effect."""
    filler = "x " * (LONGEST_TEXT // 2)
    assert not read(filler + "i smell gas").danger
    assert read("i smell gas " + filler).danger


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Hi, NO HEAT since monday", "NO HEAT"),
        ("¡Hola! no hay calefacción", "no hay calefacción"),
        ("n\u200bo he\u0301at", "n\u200bo he\u0301at"),
    ],
)
def test_spans_point_into_the_original_text(text: str, said: str) -> None:
    """The words shown beside an observation are those the tenant typed."""
    span = next(span for span in read(text).spans if span.what == "kind:too_cold")
    assert text[span.start : span.end] == said
