"""Who wrote which labelled messages: what is learned is tried on hands that were left out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

__all__ = [
    "FIRST_READ",
    "HANDS",
    "LINES",
    "MESSAGES",
    "ON_PURPOSE",
    "counts_of",
    "in_turn",
    "rows_of",
]

MESSAGES = Path(__file__).parents[2] / "fixtures" / "messages"
HANDS: Mapping[str, tuple[str, ...]] = {
    "author": ("building", "scoring", "scoring_blind", "scoring_fresh"),
    "other": ("building_other_hand", "building_other_hand_second"),
    "third": ("building_third_hand",),
    "danger_fourth": ("building_danger_fourth",),
    "everyday_fourth": ("building_everyday_fourth",),
    "seventh": ("building_everyday_seventh",),
    "eighth": ("building_danger_eighth",),
    "ninth": ("building_mixture_ninth",),
    "tenth": ("building_intents_tenth",),
    "eleventh": ("building_mixture_eleventh",),
    "twelfth": ("building_asides_twelfth",),
    "thirteenth": ("building_voices_thirteenth",),
    "fourteenth": ("building_oblique_fourteenth",),
    "sixteenth": ("building_roundabout_sixteenth",),
    "seventeenth": ("building_everyday_seventeenth",),
    "nineteenth": ("building_figurative_nineteenth",),
    "twentieth": ("building_mixture_twentieth",),
    "twentyfirst": ("building_contrasts_twentyfirst",),
    "twentysecond": ("building_everyday_twentysecond",),
    "twentythird": ("building_danger_twentythird",),
    "twentyfourth": ("building_oblique_twentyfourth",),
    "twentyfifth": ("building_plain_twentyfifth",),
    "twentyseventh": ("building_danger_twentyseventh",),
    "twentyeighth": ("building_oblique_twentyeighth",),
    "twentyninth": ("building_everyday_twentyninth",),
    "thirtieth": ("building_facts_thirtieth",),
    "in_parts": ("building_in_parts",),
}
# No rule was ever mended for these, so what rules make of them is what they make of a stranger's.
FIRST_READ = (
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "sixteenth",
    "seventeenth",
    "nineteenth",
    "twentieth",
    "twentyfirst",
    "twentysecond",
    "twentythird",
    "twentyfourth",
    "twentyfifth",
    "twentyseventh",
    "twentyeighth",
    "twentyninth",
    "thirtieth",
)
# Of these, those of whose harmless messages many are written to sound like a danger.
ON_PURPOSE = ("eighth", "twentythird", "twentyseventh")
# Single lines of danger, and lines that only sound like one.
LINES = {"danger_told": True, "danger_lookalikes": False}
# How often a message counts where it is asked how far rules are to be trusted.
_OF_THE_REST = 0.4
_LEFT_OUT_AT_A_TIME = 3


def rows_of(hand: str, folder: Path = MESSAGES) -> list[dict[str, Any]]:
    """The labelled messages of one hand."""
    return [
        json.loads(line)
        for name in HANDS[hand]
        for line in (folder / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
    ]


def in_turn() -> list[tuple[str, ...]]:
    """The hands that no rule was mended for, as they are left out together."""
    return [
        FIRST_READ[at : at + _LEFT_OUT_AT_A_TIME]
        for at in range(0, len(FIRST_READ), _LEFT_OUT_AT_A_TIME)
    ]


def counts_of(hand: str) -> float:
    """How often the messages of a hand count where rules are judged: they were mended for the others."""
    return 1.0 if hand in FIRST_READ else _OF_THE_REST
