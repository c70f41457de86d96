"""Which answer to the question asked a text gives.

Theory of operation
-------------------
A bare number is the choice of that number; 0 and "not sure" mean "unknown"; a number that is not on
the list answers nothing. Otherwise the longest of the choices' own words in the text decides, if no
negation stands before it. What the text says of the home answers too: "the pipe is ice cold" answers
how hot the radiator is. Questions that want a number take a temperature in words or digits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from rules.data import table
from rules.model import Temperature, TopicId
from rules.reading.choices import choice_said
from rules.reading.phrases import section
from rules.reading.seen import Answer, Place
from rules.reading.volunteered import in_words
from rules.reading.words import Sort, Words

__all__ = ["UNKNOWN", "answer_to", "asks_for_number", "is_bare"]

UNKNOWN = "unknown"
_ORDINALS = ("FIRSTW", "SECONDW", "THIRDW", "FOURTHW", "FIFTHW")
_SHORT = 3
# Choices that say that all is well, and the question after a repair.
_WELL = ("normal", "yes")
_IS_IT_RIGHT = "right_now"
_GOES_ON = ("and", "y", "but", "pero", ",")


def asks_for_number(asked: str | None) -> bool:
    """Whether the question wants a temperature."""
    question = _questions().get(asked or "")
    return question is not None and question.get("number") == "temperature"


def is_bare(words: Words) -> bool:
    """Whether a text is nothing but a number, a yes, a no, or word that something was done or read."""
    numbers = sum(word.value is not None for word in words)
    if numbers > 1:
        return False
    spoken = [word.text for word in words if word.sort is Sort.WORD and word.value is None]
    only = bool(spoken) and _bare_words().issuperset(spoken)
    return only or (numbers == 1 and _number_alone(words) is not None)


def answer_to(
    asked: TopicId,
    words: Words,
    *,
    facts: Mapping[str, str],
    temperature: Temperature | None,
    place: Place | None,
) -> Answer | None:
    """The answer, if the text gives one; ``facts`` is what else was read, by name."""
    means = _means(asked, words, facts, temperature, place)
    return None if means is None else Answer(asked, means)


def _means(
    asked: TopicId,
    words: Words,
    facts: Mapping[str, str],
    temperature: Temperature | None,
    place: Place | None,
) -> str | None:
    question = _questions().get(asked)
    if question is None:
        return _of_free_topic(asked, words, place)
    number = _number_alone(words)
    if asks_for_number(asked):
        return _of_number(words, number, temperature)
    choices = question["choices"]
    shown = question.get("number_means") if temperature is not None else None
    if number is not None:
        return _of_choice(choices, number) or shown
    if len(words) <= _SHORT and _is_unsure(words):
        return UNKNOWN  # "no se" is no "no"
    said = _as_told(asked, choice_said(asked, choices, words), facts) or _of_yes_no(choices, words)
    if said in (None, *_WELL) and _says("no_longer", words):
        said = "no" if asked == _IS_IT_RIGHT else None
    said = said or next((a.means for a in in_words(words) if a.topic == asked), None)
    if said is None and (_is_unsure(words) or _says("away", words)):
        return UNKNOWN
    return said or _numbered_first(choices, words, temperature) or shown


def _of_free_topic(asked: TopicId, words: Words, place: Place | None) -> str | None:
    """The numbered list of homes, or the place of a sender nobody knows."""
    number = _number_alone(words)
    if asked == "apartment_which" and number is not None:
        return f"{number:g}" if number > 0 else UNKNOWN
    if _is_unsure(words):
        return UNKNOWN
    if place is None or asked not in ("apartment_which", "place"):
        return None
    return place.apartment or place.words or None


def _of_number(words: Words, number: float | None, temperature: Temperature | None) -> str | None:
    if temperature is not None:
        return f"{temperature.value:g} {temperature.unit}"
    none = number is None and any(_says(n, words) for n in ("unsure", "away", "no_number"))
    return UNKNOWN if number == 0 or none else None


def _of_choice(choices: Sequence[dict[str, Any]], number: float) -> str | None:
    if number == 0:
        return UNKNOWN
    if number != int(number) or not 1 <= number <= len(choices):
        return None
    return str(choices[int(number) - 1]["means"])


def _number_alone(words: Words) -> float | None:
    """The number of a text that is nothing else: "1.", "one", "the first", "opcion 2", "no. 3"."""
    spoken = [word for word in words if word.sort in (Sort.WORD, Sort.NUMBER)]
    seen = section("choosing")
    line = seen.line(words)
    if line.says(seen["one_number"]) and len([w for w in spoken if w.value is not None]) == 1:
        return next(word.value for word in spoken if word.value is not None)
    for place, name in enumerate(_ORDINALS, start=1):
        if line.says(seen[name.lower()]):
            return float(place)
    return None


def _numbered_first(
    choices: Sequence[dict[str, Any]], words: Words, temperature: Temperature | None
) -> str | None:
    """ "2 it is lukewarm I think", "1 and its 68 now": a number of the list first, then no unit."""
    first = words[0] if words else None
    if first is None or first.sort is not Sort.NUMBER or first.value is None:
        return None
    numbers = [word.value for word in words if word.sort is Sort.NUMBER]
    told = None if temperature is None else temperature.value
    if len(numbers) > 1 and not (numbers[1:] == [told] and words[1].text in _GOES_ON):
        return None
    seen = section("choosing")
    return None if seen.line(words).says(seen["quantity"]) else _of_choice(choices, first.value)


def _is_unsure(words: Words) -> bool:
    return _says("unsure", words)


def _says(name: str, words: Words) -> bool:
    seen = section("choosing")
    return seen.line(words).says(seen[name])


def _as_told(asked: str, said: str | None, facts: Mapping[str, str]) -> str | None:
    """The choice that was said; what else the text tells where none was, or where it denies that one."""
    row = table("phrases")["answers_from"].get(asked)
    if row is None or row["field"] not in facts:
        return said
    found = row.get(facts[row["field"]])
    if found is None or said not in (None, row.get("denies")):
        return said
    return str(found)


def _of_yes_no(choices: Sequence[dict[str, Any]], words: Words) -> str | None:
    """ "Yep" and "nah" where a choice of the question is a yes or a no."""
    seen = section("choosing")
    line = seen.line(words)
    for name in ("no", "yes"):
        if line.says(seen[name]):
            for choice in choices:
                if name in (choice["means"], *map(str, choice.get("words_en", ()))):
                    return str(choice["means"])
    return None


@cache
def _bare_words() -> frozenset[str]:
    listed = table("phrases")["keywords"]["bare_words"]
    return frozenset(form.strip() for form in listed.split(","))


@cache
def _questions() -> dict[str, dict[str, Any]]:
    try:
        listed = table("questions")
    except FileNotFoundError:
        return {}
    return {str(row["id"]): row for row in listed}
