"""Clues are what a hand count finds, and weights add up."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.model import EmitterHeat, Intent, Kind, Noise, TopicId
from rules.reading import read
from rules.reading.clues import clues_of_word, clues_of_words
from rules.reading.danger import hear
from rules.reading.danger_table import danger_table
from rules.reading.folding import fold
from rules.reading.slots import SLOTS, Slot, Slots, slots_of
from rules.reading.weights import (
    LABELS,
    Weights,
    decided,
    kinds_of,
    kinds_of_dangers,
    packed,
    unpacked,
    weights,
)
from rules.reading.words import words_of


def _clues(text: str, asked: TopicId | None = None) -> set[str]:
    folded = fold(text)
    return clues_of_words(words_of(folded), hear(folded).tokens, asked)


def test_clues_of_words_are_those_of_a_hand_count() -> None:
    """First and last, two in a row, length, question mark, classes, concepts of danger."""
    found = _clues("no heating 62?")
    assert {"no heati", "heati 0", "^no", "0$", "#0", "?"} <= found
    assert {"NEG", "HEAT", "NEG HEAT"} <= found
    assert "HEAT NEG" not in found


def test_clues_of_a_word_are_its_beginning_and_its_letters() -> None:
    """Four letters in a row with the ends of the word, counted by hand; a number has none."""
    assert clues_of_word("heater") == ["heate", "~<hea", "~ater", "~eate", "~heat", "~ter>"]
    assert clues_of_word("0") == ["0"]


def test_what_was_asked_makes_clues_of_its_own() -> None:
    """The same words mean something else as an answer."""
    asked = _clues("no heat", TopicId("q_hot")) - _clues("no heat")
    assert {"q_hot: no", "q_hot: heat", "q_hot: HEAT", "q_hot: NEG"} <= asked


@pytest.mark.parametrize(("text", "steps"), [("a", 0), ("a b c d", 1), ("a " * 99, 6)])
def test_length_is_told_in_steps(text: str, steps: int) -> None:
    """Four words a step, up to six."""
    assert f"#{steps}" in _clues(text)


_WEIGHTS = st.lists(st.integers(-100_000, 100_000), min_size=len(LABELS), max_size=len(LABELS))


@given(one=_WEIGHTS, other=_WEIGHTS)
def test_packed_weights_add_up_label_by_label(one: list[int], other: list[int]) -> None:
    """One sum of integers is all sums at once, below zero too."""
    total = packed(enumerate(one)) + packed(enumerate(other))
    assert unpacked(total) == tuple(a + b for a, b in zip(one, other, strict=True))


def test_sums_are_what_a_hand_count_gives() -> None:
    """Each clue adds its weight to its labels, what has none adds nothing."""
    words = {"a": packed([(0, 5), (1, -3)]), "b": packed([(1, 4)])}
    table = Weights(packed([(2, 7)]), words, {"r": packed([(0, -6)])})
    sums = table.sums(set(), {"a", "b", "c"}, {"r"})
    assert sums[:4] == (-1, 1, 7, 0)
    assert kinds_of(sums) == tuple(Kind)[1:3]


def test_a_word_is_worth_all_that_it_is_made_of() -> None:
    """Its beginning, and its letters wherever another word has them as well."""
    table = Weights(0, {"hot": packed([(0, 5)]), "~<hot": packed([(0, 2)])}, {})
    assert table.sums({"hot", "hotter"}, set(), set())[0] == 5 + 2 + 2


def test_the_strongest_value_of_a_slot_is_told_if_more_speaks_for_it_than_against() -> None:
    """Of a noise one is told in any case, "other" unless one is plainly ahead of that (by a logit of 1,
    which is 100 here); of the others none where nothing speaks for one.
    """
    sums = [-3.0] * len(SLOTS)
    sums[SLOTS.index(Slot("noise", Noise.HUM))] = 98.0
    sums[SLOTS.index(Slot("emitter", EmitterHeat.HOT))] = 1.0
    sums[SLOTS.index(Slot("emitter", EmitterHeat.COLD))] = 2.0
    sums[SLOTS.index(Slot("window_open", False))] = 1.0
    told = Slots(noise=Noise.HUM, emitter=EmitterHeat.COLD, window_open=False)
    assert slots_of(sums, is_noise=True) == told
    assert slots_of(sums, is_noise=False) == replace(told, noise=None)
    sums[SLOTS.index(Slot("noise", Noise.HUM))] = 96.0
    assert slots_of(sums, is_noise=True) == replace(told, noise=Noise.OTHER)


def _sums(**told: int) -> list[int]:
    """Sums by ``kind_x`` and ``wants_x``; nothing speaks for the others."""
    names = [*(f"kind_{k.value}" for k in Kind), *(f"wants_{i.value}" for i in Intent)]
    return [told.get(name, -500) for name in names]


_BY_RULE = (Intent.ANSWER, (Kind.LEAK,))
_NO_DANGER: tuple[Kind, ...] = ()
_OF_CO = (Kind.CO_ALARM,)


@pytest.mark.parametrize(
    ("sums", "danger", "intent", "kinds"),
    [
        (_sums(kind_noise=1, wants_complaint=9), _NO_DANGER, Intent.COMPLAINT, (Kind.NOISE,)),
        (_sums(kind_noise=1, wants_resolved=9), _NO_DANGER, Intent.RESOLVED, ()),
        (_sums(wants_complaint=9), _NO_DANGER, Intent.COMPLAINT, (Kind.LEAK,)),
        (_sums(), _NO_DANGER, Intent.ANSWER, ()),
        (_sums(wants_stop=-49, wants_other=-60), _NO_DANGER, Intent.STOP, ()),
        (_sums(wants_stop=-51, wants_other=-60), _NO_DANGER, Intent.OTHER, ()),
        (_sums(kind_smoke=-1, wants_other=9), [*Kind], Intent.COMPLAINT, (Kind.SMOKE,)),
        (_sums(kind_smoke=1, wants_answer=9), [*Kind], Intent.ANSWER, (Kind.SMOKE,)),
        (_sums(kind_noise=-1), _OF_CO, Intent.ANSWER, (Kind.CO_ALARM,)),
        (_sums(kind_noise=1, wants_complaint=9), _OF_CO, Intent.COMPLAINT, (Kind.NOISE,)),
    ],
)
def test_what_is_decided_fits_together(
    sums: list[int], danger: Collection[Kind], intent: Intent, kinds: tuple[Kind, ...]
) -> None:
    """Nothing current where all is over, a kind for each complaint and danger, plain opting out."""
    assert decided(sums, *_BY_RULE, danger=danger) == (intent, kinds)


def test_every_danger_is_some_kind_of_trouble() -> None:
    """A danger that nothing is known of, as the ear may hear it, may be of every kind."""
    assert all(len(kinds_of_dangers([danger])) in (1, 2) for danger in danger_table().kinds)
    assert kinds_of_dangers(["other"]) == {*Kind}
    assert not kinds_of_dangers([])


def test_what_rules_take_for_a_complaint_is_over_only_if_more_speaks_for_that_than_against() -> (
    None
):
    """A report closed by mistake is worse than one left open."""
    by_rule = (Intent.COMPLAINT, (Kind.LEAK,))
    little, much = _sums(wants_resolved=-1), _sums(wants_resolved=1)
    assert decided(little, *by_rule, danger=_NO_DANGER)[0] is Intent.COMPLAINT
    assert decided(much, *by_rule, danger=_NO_DANGER) == (Intent.RESOLVED, ())


def test_what_a_text_cannot_want_is_not_told() -> None:
    """However much speaks for it; what comes next is."""
    sums = _sums(wants_resolved=9, wants_other=5)
    told = decided(sums, Intent.COMPLAINT, (), danger=_NO_DANGER, never={Intent.RESOLVED})
    assert told == (Intent.OTHER, ())


def test_what_a_text_is_not_about_is_not_told() -> None:
    """ "No hot water problem here, just no heat"."""
    sums = _sums(kind_leak=5, kind_noise=5, wants_complaint=9)
    told = decided(sums, Intent.COMPLAINT, (Kind.LEAK,), danger=_NO_DANGER, denied=[*Kind])
    assert told == (Intent.COMPLAINT, (Kind.LEAK,))


def test_what_is_certain_is_told_if_rules_find_it() -> None:
    """However much speaks against it: "bedroom too hot, kitchen too cold"."""
    sums = _sums(kind_noise=5, wants_complaint=9)
    told = decided(sums, Intent.COMPLAINT, (Kind.LEAK,), danger=_NO_DANGER, certain=[*Kind])
    assert told == (Intent.COMPLAINT, (Kind.NOISE, Kind.LEAK))


def test_every_label_has_weights() -> None:
    """A label that nothing speaks for could never be told."""
    rows = [unpacked(row) for row in weights().words.values()]
    assert all(any(row[at] for row in rows) for at in range(len(LABELS)))


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("no heat", Kind.TOO_COLD),
        ("it says 58 in here", Kind.TOO_COLD),
        ("i smell gas", Kind.GAS_SMELL),
        ("knocking in the pipes and no hot water", Kind.NOISE),
    ],
)
def test_every_kind_has_a_span(text: str, kind: Kind) -> None:
    """Whatever decided, the words that tell of a kind can be shown."""
    reading = read(text)
    assert kind in reading.kinds
    assert {f"kind:{k.value}" for k in reading.kinds} <= {span.what for span in reading.spans}
