"""Which of a question's choices a text says in the choice's own words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from rules.data import table
from rules.model import TopicId
from rules.reading.folding import fold
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Words

__all__ = ["choice_said"]

_FARTHEST_NEGATION = 3
_OF_THE_TAP = "q_dhw"
_BREAKS = frozenset(",.;!?")


def choice_said(asked: TopicId, choices: Sequence[dict[str, Any]], words: Words) -> str | None:
    """The meaning of the choice whose own words in the text are the longest; of two the later."""
    best: tuple[int, int] = (0, -1)
    means: str | None = None
    texts = _written_out(word.text for word in words)
    written = _written_out(word.written or word.text for word in words)
    for choice in choices:
        for phrase in _own_words(tuple(_listed(choice))):
            for at in (*_places(texts, phrase), *_places(written, phrase)):
                # A bare yes or no inside a sentence is a word like any other, not the answer.
                bare = len(phrase) == 1 and phrase[0] in table("choices")["bare"]
                if (
                    (bare and at > 0)
                    or _negated(texts, at, phrase)
                    or _of_people(texts, at, phrase)
                ):
                    continue
                named = _names_tap_water(texts, at, phrase)
                if named and asked != _OF_THE_TAP:
                    continue
                length = 0 if named else len(phrase)  # "lukewarm hot water" is lukewarm
                if (length, at) > best:
                    best, means = (length, at), str(choice["means"])
    return means


def _of_people(texts: Sequence[str], at: int, phrase: tuple[str, ...]) -> bool:
    """Whether "some" is "some guy", which says nothing of rooms."""
    after = texts[at + 1] if at + 1 < len(texts) else ""
    return len(phrase) == 1 and after in table("choices")["people"].get(phrase[0], ())


def _names_tap_water(texts: Sequence[str], at: int, phrase: tuple[str, ...]) -> bool:
    """Whether "hot" is a part of "hot water", which says nothing of a radiator."""
    names = table("choices")["tap_water"]
    before = texts[at - 1] if at > 0 else ""
    after = texts[at + len(phrase)] if at + len(phrase) < len(texts) else ""
    return after in names["ending"].get(phrase[-1], ()) or before in names["beginning"].get(
        phrase[0], ()
    )


def _listed(choice: dict[str, Any]) -> list[str]:
    own = [choice.get("en", ""), choice.get("es", "")]
    return [str(w) for w in (*own, *choice.get("words_en", ()), *choice.get("words_es", ()))]


@cache
def _own_words(listed: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    found = (
        tuple(_written_out(m.group() for m in fold(form).pieces if m.group()[0].isalnum()))
        for form in listed
    )
    return tuple(dict.fromkeys(phrase for phrase in found if phrase))


def _written_out(words: Iterable[str]) -> list[str]:
    long_forms = vocabulary().contractions
    return [part for word in words for part in long_forms.get(word, word).split(" ")]


def _places(texts: Sequence[str], phrase: tuple[str, ...]) -> list[int]:
    length = len(phrase)
    return [
        at
        for at in range(len(texts) - length + 1)
        if texts[at] == phrase[0] and tuple(texts[at : at + length]) == phrase
    ]


def _negated(texts: Sequence[str], at: int, phrase: tuple[str, ...]) -> bool:
    if phrase[0] in _negators():
        return False
    for index in range(at - 1, max(-1, at - 1 - _FARTHEST_NEGATION), -1):
        if texts[index] in _BREAKS:
            return False
        if texts[index] in _negators():
            opening_no = texts[index] == "no" and texts[index + 1] in vocabulary().after_no
            return not opening_no
    return False


@cache
def _negators() -> frozenset[str]:
    return frozenset(" ".join(phrase) for phrase in vocabulary().classes["HARDNEG"])
