"""What takes a danger back: it is over, it was looked at, it is elsewhere, it only sounded like one.

Theory of operation
-------------------
Something past that somebody has looked at is over, and so is an old fire; a gas smell that nobody came
for is not. A detector that chirps because of its battery is no alarm unless people are ill. What is said
of another building is not said of this one. A clause about the heat alone decides nothing of this.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from rules.reading.danger_table import DangerKind, DangerTable
from rules.reading.signs import find
from rules.reading.tokens import Tokens

__all__ = ["is_elsewhere", "is_explained", "is_over", "is_taken_back"]

_PATTERN = re.Pattern[str]
_OVER_IN_TIME = ("fire", "electrical", "water_electrics", "scald")
_OVER_WHEN_CLEARED = ("gas", "co", "fire", "electrical", "scald")


def is_elsewhere(text: str, tokens: Tokens, at: int, rules: DangerTable) -> bool:
    """Whether the sentence of a token is about another building."""
    sentence = tokens.sentences[at]
    of_it = [i for i, other in enumerate(tokens.sentences) if other == sentence]
    said = text[tokens.starts[of_it[0]] : tokens.ends[of_it[-1]]]
    return bool(rules.scopes["elsewhere"].search(said)) and not rules.scopes["here"].search(said)


def is_explained(tokens: Tokens, row: DangerKind) -> bool:
    """Whether the text gives a harmless cause in so many words: dust at the first heat of a year."""
    return any(find(tokens, sign) is not None for sign in row.explained)


def is_taken_back(text: str, kind: str, row: DangerKind, rules: DangerTable) -> bool:
    """Whether the rest of the text says that a danger is none, or is over."""
    back = row.taken_back_by
    # A detector that only says its battery is low, with nobody ill.
    if "unless" in back and _any(back["unless"], text) and not _any(back["unless_not"], text):
        return True
    if "figure" in back and _any(back["figure"], text) and _any(back["figure_with"], text):
        return not _any(back["figure_not"], text)
    about = _without_heat(text, rules.scopes)
    if kind in _OVER_IN_TIME and _long_past(about, rules.scopes):
        return True
    return kind in _OVER_WHEN_CLEARED and _past_and_cleared(about, rules.scopes)


def is_over(text: str, rules: DangerTable) -> bool:
    """Whether a text is about something that was cleared, whatever it was, or about elsewhere."""
    about = _without_heat(text, rules.scopes)
    elsewhere = rules.scopes["elsewhere"].search(text) and not rules.scopes["here"].search(text)
    return (
        bool(elsewhere) or _long_past(about, rules.scopes) or _past_and_cleared(about, rules.scopes)
    )


def _any(patterns: tuple[_PATTERN, ...], text: str) -> bool:
    return any(pattern.search(text) for pattern in patterns)


def _without_heat(text: str, scopes: Mapping[str, _PATTERN]) -> str:
    """The text less its clauses about heat alone: "... cleared it, but the heat is still off"."""
    clauses = re.split(r"[.,;!?\n]+|\b(?:but|pero|and|y)\b", text)
    return " , ".join(
        c for c in clauses if not scopes["of_heat"].search(c) or scopes["of_danger"].search(c)
    )


def _long_past(text: str, scopes: Mapping[str, _PATTERN]) -> bool:
    return bool(scopes["long_past"].search(text) and not scopes["again"].search(text))


def _past_and_cleared(text: str, scopes: Mapping[str, _PATTERN]) -> bool:
    rest, gone = scopes["gone"].subn(" ", text)
    return bool(
        (gone or scopes["past"].search(text))
        and scopes["cleared"].search(text)
        and not scopes["not_cleared"].search(text)
        and not scopes["again"].search(rest)
    )
