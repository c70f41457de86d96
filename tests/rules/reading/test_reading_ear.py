"""How loud a text is, and what it tells of, are what a hand count gives."""

from __future__ import annotations

from math import sqrt

import pytest

from rules.model import TopicId
from rules.reading import read
from rules.reading.concepts import Concepts
from rules.reading.danger import Danger, Heard, hear, heeded
from rules.reading.ear import Ear, Weighing, loudness
from rules.reading.folding import fold
from rules.reading.tokens import Tokens

_CONCEPTS = Concepts({"SMELL": "smell*", "GAS": "gas", "OF": "of"}, {})
_SCOPE = {
    "negators": frozenset({"no"}),
    "negators_after": frozenset({"no"}),
    "light": frozenset({"of"}),
    "units": frozenset[str](),
    "degrees": frozenset[str](),
    "shows": frozenset[str](),
    "goes_on_after_stop": frozenset[str](),
}
_KINDS = {
    "gas": Weighing({"GAS": 20, "SMELL": 10}, -8.0),
    "fire": Weighing({"SMELL": 5}, -8.0),
}
_EAR = Ear(100, _KINDS, frozenset({"OF", "COMMA", "NUMBER"}))


def _tokens(text: str) -> Tokens:
    return Tokens(fold(text), _CONCEPTS, _SCOPE)


@pytest.mark.parametrize(("words", "times"), [(12, 1.0), (48, 0.5), (240, sqrt(0.2))])
def test_a_text_four_times_as_long_is_half_as_loud(words: int, times: float) -> None:
    """What speaks for danger counts over the root of the words; from sixty on, more are no more."""
    assert loudness(80, words) == pytest.approx(80 * times)


def test_a_text_without_words_is_not_silenced_by_their_number() -> None:
    """No division by nothing: it counts as one word."""
    assert loudness(80, 0) == pytest.approx(80 * sqrt(12))


@pytest.mark.parametrize(
    ("text", "loud", "by_sign", "is_danger"),
    [
        ("smell of gas", 101, False, True),
        ("smell of gas", 100, False, False),
        ("gas", 101, False, False),
        ("gas", 101, True, True),
        ("no smell of gas", 101, False, False),
        ("nothing at all", 101, False, False),
    ],
)
def test_a_danger_is_loud_enough_and_told_by_two_words_or_a_sign(
    text: str, loud: float, *, by_sign: bool, is_danger: bool
) -> None:
    """One telling word is too little without a sign, and denied ones tell nothing."""
    assert _EAR.is_danger(loud, _tokens(text), by_sign=by_sign) is is_danger


@pytest.mark.parametrize(
    ("text", "kind"), [("smell of gas", "gas"), ("smell", "gas"), ("blah", "other")]
)
def test_the_kind_is_the_one_the_concepts_speak_for(text: str, kind: str) -> None:
    """Where no concept speaks for any kind, the advice is the general one."""
    assert _EAR.kind(_tokens(text)) == kind


def test_the_place_is_that_of_the_weightiest_concept() -> None:
    """What is shown is what told most of the kind; where nothing did, all of it."""
    assert _EAR.place(_tokens("i smell some gas here"), "gas") == (3, 3)
    assert _EAR.place(_tokens("no gas here"), "gas") == (0, 2)
    assert _EAR.place(_tokens("i smell some gas here"), "other") == (0, 4)


_CHATTER = "my rent was due on friday and i paid it at the office with a check like always"


def _heard(text: str) -> Heard:
    return hear(fold(text))


def test_a_sign_stands_where_its_sentence_is_loud_by_itself() -> None:
    """A harmless sentence beside it hides no danger; a text of one sentence is not asked twice."""
    asked: list[str] = []

    def is_loud(sentence: str) -> bool:
        asked.append(sentence)
        return True

    heard = heeded(
        _heard(f"{_CHATTER}. the kitchen smells of gas"), loud=False, is_loud_alone=is_loud
    )
    assert [danger.kind for danger in heard.dangers] == ["gas"]
    assert [sentence.strip(" .") for sentence in asked] == ["the kitchen smells of gas"]
    asked.clear()
    assert not heeded(
        _heard("the kitchen smells of gas"), loud=False, is_loud_alone=is_loud
    ).dangers
    assert not asked


def test_what_is_told_plainly_stands_however_harmless_it_sounds() -> None:
    """ "There is smoke" is not weighed."""
    heard = heeded(_heard("there is smoke"), loud=False, is_loud_alone=lambda _: False)
    assert [danger.kind for danger in heard.dangers] == ["fire"]


def test_a_loud_text_without_a_sign_is_a_danger_of_the_likeliest_kind() -> None:
    """Its place is that of the word that tells most."""
    text = "gas in the drawer and on the table"
    heard = _heard(text)
    assert not heard.told
    (danger,) = heeded(heard, loud=True, is_loud_alone=lambda _: False).dangers
    assert danger == Danger("gas", 0, 3)


@pytest.mark.parametrize("asked", ["q_hot", "q_safety", "right_now"])
def test_what_was_asked_makes_no_difference(asked: str) -> None:
    """A danger is one whatever it answers."""
    text = "i smell gas in the kitchen"
    assert read(text, TopicId(asked)).danger_kinds == ("gas",)
