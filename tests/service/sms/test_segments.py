"""Segment counts against 3GPP TS 23.038 and 23.040 (160/153 septets, 70/67 units)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sms.segments import fold, is_gsm, segments, split

# The characters of the extension table, 3GPP TS 23.038 clause 6.2.1.1: two septets each.
EXTENSION = "^{}\\[~]|€"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # 3GPP TS 23.038: 160 septets in one message; 23.040: 153 in each part of a longer one.
        ("A" * 160, 1),
        ("A" * 161, 2),
        ("A" * 306, 2),
        ("A" * 307, 3),
        ("A" * 158 + "€", 1),
        ("A" * 159 + "€", 2),
        # One character outside the alphabet (ё is, é is not): 70 units, 67 in each part.
        ("ё" + "A" * 69, 1),
        ("ё" + "A" * 70, 2),
        ("ё" + "A" * 133, 2),
        ("ё" + "A" * 134, 3),
        ("é" * 160, 1),
        # An emoji is two UCS-2 units.
        ("🥶" * 35, 1),
        ("🥶" * 36, 2),
        ("🥶" * 70, 3),  # 33 whole ones fit in 67 units
        ("€" * 80, 1),
        ("€" * 81, 2),
    ],
)
def test_texts_cost_what_the_standard_says(text: str, expected: int) -> None:
    """The number of messages follows from the septets or units the standard allows."""
    assert segments(text) == expected


def test_an_extension_pair_moves_whole_into_the_next_part() -> None:
    """A euro sign that would fill septets 153 and 154 starts the second part."""
    first, second = split("A" * 152 + "€" + "B" * 20)
    assert first == "A" * 152
    assert second == "€" + "B" * 20


def test_an_emoji_is_never_cut_in_two() -> None:
    """The 67th unit of a part stays empty when a pair would start there."""
    first, second = split("ё" * 66 + "🥶" + "ё" * 10)
    assert first == "ё" * 66
    assert second.startswith("🥶")


@pytest.mark.parametrize("character", EXTENSION)
def test_extension_characters_take_two_septets(character: str) -> None:
    """Eighty of them fill a message, one more opens a second."""
    assert (segments(character * 80), segments(character * 80 + "A")) == (1, 2)


@pytest.mark.parametrize("character", "áíóúçêëïÁÍÓÚ'`°–…ё")
def test_characters_outside_the_alphabet_are_known(character: str) -> None:
    """Only what is in the table counts as GSM; apostrophe is, curly quotes and accents are not."""
    assert is_gsm(character) == (character == "'")


@pytest.mark.parametrize(
    ("written", "folded"),
    [
        ("¿Está más fría la habitación? Sí, tú", "¿Esta mas fria la habitacion? Si, tu"),
        ("ÁÍÓÚ", "AIOU"),
        ("señor, qué, pingüino, è ù ì ò à", "señor, qué, pingüino, è ù ì ò à"),
        ("frío", "frio"),  # NFD, as some phones write it
        ("“it’s” ‘ok’ — 7–9…", "\"it's\" 'ok' - 7-9..."),
        ("68°F", "68F"),
        ("a\u00a0b\u202fc\td", "a b c d"),
        ("no\u200bheat\ufeff", "noheat"),
        ("garçon œuvre", "garcon oeuvre"),
        ("½ １ ①", "1/2 1 1"),
        ("Привет 🥶", "Привет 🥶"),
    ],
)
def test_folding_keeps_a_text_readable(written: str, folded: str) -> None:
    """What the alphabet lacks becomes its plain form; what has none stays."""
    assert fold(written) == folded


@given(st.text(max_size=500))
def test_splitting_loses_nothing_and_folding_settles(text: str) -> None:
    """The parts joined are the text, none is over its size, and folding twice changes nothing."""
    parts = split(text)
    assert "".join(parts) == text
    assert fold(fold(text)) == fold(text)
    if not is_gsm(text):
        assert all(len(part.encode("utf-16-be", "surrogatepass")) <= 140 for part in parts)
