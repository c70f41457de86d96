"""The table of decisions: what it names exists, and the order does what the rows say."""

from __future__ import annotations

import pytest

from rules.data import table
from rules.model import Intent
from rules.reading import read

_ROWS = table("intents")["decisions"]
_FACTS = {
    "answers",
    "asked",
    "danger",
    "at_setting",
    "question",
    "asking",
    "of_home",
    "scrap",
    "strange",
}


def test_every_list_a_decision_names_has_phrases() -> None:
    """A list that does not exist would only be missed when a text reached its row."""
    lists = table("phrases")["talk"]["phrases"]
    keywords = table("phrases")["keywords"]
    for row in _ROWS:
        named = {*row.get("says", ()), *row.get("also", ()), *row.get("without", ())}
        assert named <= set(lists), row
        assert row.get("only") in (None, *keywords), row
        assert {*row.get("is", ()), *row.get("isnt", ())} <= _FACTS, row


def test_the_last_decision_holds_for_any_text() -> None:
    """So that every text has an intent."""
    assert set(_ROWS[-1]) == {"intent"}


# Our own sentences; what they want is common practice, no source.
@pytest.mark.parametrize(
    ("text", "intent"),
    [
        ("who do i pay rent to", Intent.OTHER),
        ("is tmrw morning still happening or did it move", Intent.STATUS_QUESTION),
        ("the guy came and looked at it, same problem again", Intent.COMPLAINT),
        ("set to 69, reading 69. Miracles happen", Intent.RESOLVED),
        ("ya le baje como me dijo y el tubo sigue caliente", Intent.ANSWER),
        ("turned the thing all the way to 64 and its still 85", Intent.COMPLAINT),
        ("haha my cat sat on the phone, ignore that", Intent.OTHER),
        ("hace un año no teníamos agua pero lo arreglaron ese mismo día", Intent.OTHER),
        ("digale al tecnico que no se moleste", Intent.CANCEL),
        ("nothing is beeping and i dont smell anything", Intent.ANSWER),
    ],
)
def test_the_first_decision_that_holds_is_taken(text: str, intent: Intent) -> None:
    """Each sentence says something of two rows; the one that stands first is meant."""
    assert read(text).intent is intent
