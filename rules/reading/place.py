"""Where a text says its sender lives, for numbers that no household list knows."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rules.reading.line import Found
from rules.reading.phrases import section
from rules.reading.seen import Place, Span
from rules.reading.words import Sort, Word, Words

__all__ = ["apartment_and_words"]

# A letter after a number that is a unit; F and C are doors after numbers too low for a room.
_UNITS = frozenset("xhmsk")
_LOWEST_ROOM = 12
_HOUSE_NUMBER_MARKS = frozenset({"number", "numero", "num", "no", "#"})


def apartment_and_words(
    text: str, words: Words, *, asked: bool
) -> tuple[Place | None, Span | None]:
    """The apartment and the building's words; unasked, only where a text plainly names a place."""
    seen = section("place")
    line = seen.line(words)
    marked, bare = _doors(text, words, line.find(seen["marked"]))
    doors = marked or (bare if asked or len(bare) == 1 else [])
    # "Number 15, apartment 3C": a house number is not the door.
    doors = sorted(doors, key=lambda d: words[d[0]].text in _HOUSE_NUMBER_MARKS)
    door = doors[0] if doors else None
    street = next(iter(seen.standing(line, "street")), None)
    if not asked and door is None and street is None:
        return None, None
    if not asked and door is not None and not marked and line.says(seen["other_homes"]):
        return None, None
    span = None
    if door is not None:
        span = Span(words[door[0]].start, words[door[1]].end, "place")
    return Place(None if door is None else door[2], _rest(text, words, door)), span


def _doors(
    text: str, words: Words, marks: Sequence[Found]
) -> tuple[list[tuple[int, int, str]], list[tuple[int, int, str]]]:
    """Doors after a mark ("apt 4b", "#12") and bare ones ("4-B"), as first word, last word, door."""
    marked = []
    for found in marks:
        door = _door_at(text, words, found.last, marked=True)
        if door is not None:
            marked.append((found.first, door[0], door[1]))
    bare = []
    for index, word in enumerate(words):
        if word.sort is not Sort.NUMBER and len(word.text) != 1:
            continue
        door = _door_at(text, words, index, marked=False)
        if door is not None:
            bare.append((index, door[0], door[1]))
    return marked, bare


def _door_at(text: str, words: Words, index: int, *, marked: bool) -> tuple[int, str] | None:
    """The last word and the name of the door that begins at a word."""
    first = words[index]
    following = words[index + 1] if index + 1 < len(words) else None
    letter_after = following is not None and len(following.text) == 1 and following.text.isalpha()
    if first.sort is Sort.NUMBER and re.fullmatch(r"\d{1,5}", first.text):
        if (
            letter_after
            and following is not None
            and _joined(text, first, following, marked=marked)
        ):
            return index + 1, first.text.lstrip("0") + following.text.upper()
        return (index, first.text) if marked else None
    if len(first.text) != 1 or not first.text.isalpha():
        return None
    if following is not None and following.sort is Sort.NUMBER and (following.glued or marked):
        return index + 1, first.text.upper() + following.text
    return (index, first.text.upper()) if marked else None


def _joined(text: str, number: Word, letter: Word, *, marked: bool) -> bool:
    between = text[number.end : letter.start]
    if marked:
        return between.strip() in ("", "-")
    if letter.text in _UNITS or (letter.text in "fc" and (number.value or 0) >= _LOWEST_ROOM):
        return False
    return between in ("", "-") and len(number.text) <= 3


def _rest(text: str, words: Words, door: tuple[int, int, str] | None) -> str:
    if door is None:
        return " ".join(text.split())[:200]
    before, after = text[: words[door[0]].start], text[words[door[1]].end :]
    return " ".join(f"{before} {after}".replace(",", " ").replace("#", " ").split())[:200]
