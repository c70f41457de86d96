"""Concepts stand together, near enough, undenied and without what explains them away."""

from __future__ import annotations

from typing import Any

import pytest

from rules.data import table
from rules.reading.concepts import Concepts
from rules.reading.folding import fold
from rules.reading.signs import Sign, Signs, compose, find, parsed_signs
from rules.reading.tokens import Tokens

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
    "degrees": frozenset({"degrees"}),
    "shows": frozenset({"reads"}),
    "goes_on_after_stop": frozenset({"like"}),
}


def _stands(sign: str, text: str) -> bool:
    return find(Tokens(fold(text), _CONCEPTS, _SCOPE), Sign.parsed(sign)) is not None


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
        ("GAS COLDROOM", "gas, 45 degrees", True),
        ("GAS COLDROOM", "gas, it reads 45", True),
        ("GAS COLDROOM", "gas since 45 days", False),
        ("GAS COLDROOM", "gas, 70 degrees", False),
        ("SMELL GAS|FOOD", "smells of onions", True),
        ("SMELL GAS|FOOD", "smells of roses", False),
        ("SMELL GAS /text", "it smells. we have no heat at all. the gas is on", True),
        ("SMELL GAS /text", "it smells. there is no gas", False),
        ("SMELL", "it smlels", True),
        ("SMELL GAS -FOOD", "smells of gas, says my diner", True),
        ("SMELL GAS --FOOD", "smells of gas, no dinner yet", True),
    ],
)
def test_a_sign_stands_where_its_notation_says(sign: str, text: str, stands: bool) -> None:
    """Order, reach, sentence, denial and what must not be there all count."""
    assert _stands(sign, text) is stands


def _table_of_danger() -> tuple[dict[str, Any], frozenset[str]]:
    raw = table("danger")
    return raw, Concepts(table("danger_words"), raw["hides"]).names


def test_every_sign_of_the_table_is_made_of_known_concepts() -> None:
    """A concept without words is an error in the table, not a sign that never stands."""
    with pytest.raises(KeyError, match="NOWHERE"):
        parsed_signs(["SMELL NOWHERE"], _CONCEPTS.names)
    raw, names = _table_of_danger()
    for row in raw["kinds"].values():
        rows = row["signs"] + row.get("explained", [])
        assert parsed_signs(rows, names | raw["composed"].keys())


def test_every_concept_of_the_table_is_used() -> None:
    """Words that no sign asks for would look like cover and be none."""
    raw, names = _table_of_danger()
    rows = [row["signs"] + row.get("explained", []) for row in raw["kinds"].values()]
    rows += raw["composed"].values()
    known = names | raw["composed"].keys()
    used = {name for row in rows for sign in parsed_signs(row, known) for name in sign.names}
    assert names - used - set(raw["hides"]) == set()


def test_concepts_together_make_another() -> None:
    """What stands together counts as the concept it is composed of, where it stands."""
    tokens = Tokens(fold("dinner smells, and the gas is off"), _CONCEPTS, _SCOPE)
    compose(tokens, Signs({"STOVE": [Sign.parsed("FOOD SMELL /2")]}))
    assert find(tokens, Sign.parsed("> STOVE GAS")) == (0, 5)


def test_concepts_make_others_in_the_order_of_their_table() -> None:
    """What was made of others makes others in its turn."""
    tokens = Tokens(fold("dinner smells, and the gas is off"), _CONCEPTS, _SCOPE)
    made = {"STOVE": [Sign.parsed("FOOD SMELL /2")], "KITCHEN": [Sign.parsed("STOVE GAS")]}
    compose(tokens, Signs(made))
    assert find(tokens, Sign.parsed("KITCHEN")) == (0, 5)


def test_signs_with_a_concept_that_is_not_named_are_left_out_and_no_others() -> None:
    """Whatever sign is found where every one is looked for, is among those that are looked for."""
    rows = ("SMELL GAS", "FOOD|GAS SMELL", "STOVE", "FOOD", "> GAS SMELL FOOD -STOVE")
    signs = {f"kind {at}": Sign.parsed(row) for at, row in enumerate(rows)}
    listed = Signs({kind: [sign] for kind, sign in signs.items()})
    for text in ("smells of gas", "dinner", "the gas stove", "onions smell", "nothing"):
        tokens = Tokens(fold(text), _CONCEPTS, _SCOPE)
        standing = {kind for kind, sign in signs.items() if find(tokens, sign) is not None}
        assert standing <= listed.likely(tokens).keys()
    assert not listed.likely(Tokens(fold("nothing"), _CONCEPTS, _SCOPE))
