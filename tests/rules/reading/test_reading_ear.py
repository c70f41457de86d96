"""The ear weighs what is told; its scores are those a hand count gives."""

from __future__ import annotations

from math import sqrt

import pytest

from rules.reading.concepts import Concepts
from rules.reading.ear import ANY_SIGN, TAKEN_BACK, Ear, Unweighed, Weighing, clues
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
_UNWEIGHED = Unweighed(
    words=frozenset({"hello", "thank", "you", "of", "the"}),
    concepts=frozenset({"OF", "COMMA", "NUMBER"}),
)
_DANGER = Weighing({"GAS": 30, "SMELL": 20, "GAS & SMELL": 10, "bills": -40}, -12.0)
_KINDS = {
    "gas": Weighing({"GAS": 20, "SMELL": 10}, -8.0),
    "fire": Weighing({"SMELL": 5}, -8.0),
}
_SIGNS = {ANY_SIGN: 8, "gas": 5, TAKEN_BACK: -30}
_EAR = Ear(_DANGER, _SIGNS, _KINDS, _UNWEIGHED)
_NO_SIGN = frozenset[str]()


def _tokens(text: str) -> Tokens:
    return Tokens(fold(text), _CONCEPTS, _SCOPE)


def test_clues_are_beginnings_neighbors_and_concepts() -> None:
    """Five letters of a word, two near words in order of the alphabet, concepts and their pairs."""
    assert clues(_tokens("smells of gasoline 62"), _UNWEIGHED) == {
        *("smell", "gasol", "0"),
        *("gasol smell", "0 smell", "0 gasol"),
        "SMELL",
    }


def test_a_denied_concept_is_another_clue() -> None:
    """ "No gas" is not the clue of gas, alone or in a pair."""
    found = clues(_tokens("no gas. smells"), _UNWEIGHED)
    assert {"not GAS", "SMELL", "SMELL & not GAS"} <= found
    assert "GAS" not in found


def test_words_farther_apart_than_six_are_not_near() -> None:
    """A pair reaches over five telling words and no more."""
    found = clues(_tokens("one a b c d e six seven"), _UNWEIGHED)
    assert "one six" in found
    assert "one seven" not in found


@pytest.mark.parametrize("text", ["{}", "hello {}", "hello, {} thank you"])
def test_courtesy_weighs_nothing(text: str) -> None:
    """A greeting or thanks adds no clue."""
    bare = clues(_tokens("smell of gas"), _UNWEIGHED)
    assert clues(_tokens(text.format("smell of gas")), _UNWEIGHED) == bare


@pytest.mark.parametrize(
    ("text", "score"),
    [
        ("smell of gas", 60 / sqrt(3) - 12),
        ("gas bills, gas", (30 - 40) / sqrt(2) - 12),
        ("gas", -12),
        ("no smell of gas", -12),
        ("nothing at all", -12),
        ("", -12),
    ],
)
def test_the_score_is_what_a_hand_count_gives(text: str, score: float) -> None:
    """The sum of weights over the root of their number, plus the bias; of one word, the bias."""
    assert _EAR.score(_tokens(text), _NO_SIGN) == pytest.approx(score)


@pytest.mark.parametrize(
    ("signs", "worth"),
    [({ANY_SIGN, "gas"}, 13), ({TAKEN_BACK}, -30), ({ANY_SIGN, "a sign without a weight"}, 8)],
)
def test_signs_add_what_they_are_worth(signs: set[str], worth: int) -> None:
    """A sign makes even one telling word worth weighing."""
    score = _EAR.score(_tokens("gas"), frozenset(signs))
    assert score == pytest.approx(30 - 12 + worth)


def test_a_sentence_is_listened_to_by_itself() -> None:
    """Of the tokens listened to come all words, pairs and concepts, denied ones too."""
    tokens = _tokens("no gas in this house my friend. it smells of old socks in here")
    first, second = tokens.told_with(0), tokens.told_with(tokens.starts[9])
    assert (first[0], first[-1], second[0], second[-1]) == (0, 6, 7, 14)
    assert {"not GAS"} == {
        c for c in clues(tokens, _UNWEIGHED, first) if c.endswith(("GAS", "SMELL"))
    }
    assert {"SMELL"} == {
        c for c in clues(tokens, _UNWEIGHED, second) if c.endswith(("GAS", "SMELL"))
    }


@pytest.mark.parametrize(
    ("text", "kind"), [("smell of gas", "gas"), ("smell", "gas"), ("blah", "other")]
)
def test_the_kind_is_the_one_the_concepts_speak_for(text: str, kind: str) -> None:
    """Where no concept speaks for any kind, the advice is the general one."""
    assert _EAR.kind(_tokens(text)) == kind


def test_the_place_is_that_of_the_weightiest_concept() -> None:
    """What is shown is what told most; where nothing did, all of it."""
    assert _EAR.place(_tokens("i smell some gas here")) == (3, 3)
    assert _EAR.place(_tokens("no gas here")) == (0, 2)
