"""From the fields of a tenant's form to the text they stand for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from service.usecases.home.web_photos import Outcome
from service.usecases.home.web_questions import choice_text
from service.usecases.home.web_views import AskView
from service.usecases.home.web_words import kind_says

__all__ = ["PHOTO_NOTES", "PHOTO_TROUBLES", "Answer", "Report", "Trouble"]

LONGEST_WORDS = 2000
NOT_SURE = "0"  # as by text
_NUMBER = re.compile(r"\s*(\d{1,3}(?:[.,]\d)?)\s*(?:°|º)?\s*([FfCc])?\s*")
# What a thermometer in a home can show; anything else is a slip of the finger.
_RANGES = {"F": (30.0, 120.0), "C": (0.0, 49.0)}

Trouble = Literal[
    "nothing_told",
    "pick_one",
    "number_wrong",
    "phone_wrong",
    "photo_none",
    "photo_large",
    "photo_unknown",
]
# What a page says of a photo: on its own form if another file is wanted, else where things stand.
PHOTO_TROUBLES: Mapping[Outcome, Trouble] = {
    "none": "photo_none",
    "large": "photo_large",
    "unknown": "photo_unknown",
}
PHOTO_NOTES: Mapping[Outcome, str] = {"kept": "photo", "enough": "photo_enough"}


@dataclass(frozen=True, slots=True)
class Report:
    """What is wrong: what was ticked, and words."""

    kinds: tuple[str, ...] = ()
    words: str = ""

    @classmethod
    def of(cls, kinds: list[str], words: str) -> Report:
        """The fields, shortened to what anybody writes."""
        return cls(tuple(kinds[:10]), words.strip()[:LONGEST_WORDS])

    def text(self, language: str) -> str:
        """The text for the inbox; empty when nothing was told."""
        return " ".join(part for part in (kind_says(self.kinds, language), self.words) if part)


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question: a choice, or a number with its unit."""

    choice: str = ""
    number: str = ""
    unit: str = "F"

    def trouble(self, ask: AskView) -> Trouble | None:
        """What is wrong with the fields, if anything."""
        if self.choice == NOT_SURE:
            return None
        if ask.choices:
            return None if self.choice in dict(ask.choices) else "pick_one"
        return "number_wrong" if self._degrees() is None else None

    def text(self, ask: AskView, language: str) -> str:
        """The text for the inbox, of fields without trouble."""
        if ask.choices or self.choice == NOT_SURE:
            return choice_text(ask.topic, self.choice, language)
        return self._degrees() or NOT_SURE

    def _degrees(self) -> str | None:
        found = _NUMBER.fullmatch(self.number)
        if found is None:
            return None
        unit = (found[2] or self.unit).upper()
        low, high = _RANGES.get(unit, (1.0, 0.0))
        degrees = float(found[1].replace(",", "."))
        return f"{degrees:g} {unit}" if low <= degrees <= high else None
