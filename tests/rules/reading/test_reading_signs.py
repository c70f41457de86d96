"""Concepts stand together, near enough, undenied and without what explains them away."""

from __future__ import annotations

import pytest

from rules.data import table
from rules.reading.concepts import Concepts
from rules.reading.signs import Sign, Tokens, find, parsed_signs

_CONCEPTS = Concepts(
    {
        "SMELL": "smell*, huel*",
        "GAS": "gas, propane",
        "STOVE": "gas stove",
        "FOOD": "dinner, onions",
    },
    {"STOVE": ["GAS"]},
)
_SCOPE = {
    "negators": frozenset({"no", "not"}),
    "negators_after": frozenset({"no"}),
    "light": frozenset({"a", "any", "smell", "of", "like"}),
    "units": frozenset({"degrees"}),
    "goes_on_after_stop": frozenset({"like"}),
}


def _stands(sign: str, text: str) -> bool:
    return find(Tokens(text, _CONCEPTS, _SCOPE), Sign.parsed(sign)) is not None


@pytest.mark.parametrize(
    ("sign", "text", "stands"),
    [
        ("SMELL GAS", "i smell gas", True),
        ("SMELL GAS", "gas, that is what it smells like", True),
        ("SMELL GAS", "huele raro. like propane", True),
        ("SMELL GAS", "it smells. the gas is on", False),
        ("SMELL GAS /2", "smell one two gas", False),
        ("> GAS SMELL", "gas smell", True),
        ("> GAS SMELL", "smell gas", False),
        ("SMELL GAS", "no smell of gas", False),
        ("SMELL GAS", "smells, but not of gas", False),
        ("=SMELL GAS", "not a smell. i mean smell gas", True),
        ("GAS", "gas no, only cold", False),
        ("GAS", "the gas stove is off", False),
        ("SMELL GAS -FOOD", "smells of gas and dinner", False),
        ("SMELL GAS -FOOD", "smells of gas. dinner is ready", True),
        ("SMELL GAS --FOOD", "smells of gas. dinner is ready", False),
        ("> SMELL GAS ~FOOD", "smells of onions and gas", False),
        ("> SMELL GAS ~FOOD", "onions, and it smells of gas", True),
        ("> SMELL GAS ~COMMA", "smells, gas", False),
        ("GAS NUMBER", "gas 70", True),
        ("GAS NUMBER", "gas 70 degrees", False),
        ("SMELL", "it smlels", True),
    ],
)
def test_a_sign_stands_where_its_notation_says(sign: str, text: str, stands: bool) -> None:
    """Order, reach, sentence, denial and what must not be there all count."""
    assert _stands(sign, text) is stands


def test_every_sign_of_the_table_is_made_of_known_concepts() -> None:
    """A concept without words is an error in the table, not a sign that never stands."""
    with pytest.raises(KeyError, match="NOWHERE"):
        parsed_signs(["SMELL NOWHERE"], _CONCEPTS)
    raw = table("danger")
    concepts = Concepts(table("danger_words"), raw["hides"])
    for row in raw["kinds"].values():
        assert parsed_signs(row["signs"], concepts)


def test_every_concept_of_the_table_is_used() -> None:
    """Words that no sign asks for would look like cover and be none."""
    raw = table("danger")
    concepts = Concepts(table("danger_words"), raw["hides"])
    used = {
        n
        for row in raw["kinds"].values()
        for s in parsed_signs(row["signs"], concepts)
        for n in s.names
    }
    assert concepts.names - used - set(raw["hides"]) == set()
