"""Putting sentences together so that each text stays within one segment.

A segment holds 160 septets of the GSM-7 alphabet or 70 UTF-16 units of anything else (3GPP TS
23.038, from memory). Accents that GSM-7 lacks are folded when a text is sent, and counted so.
"""

from __future__ import annotations

from collections.abc import Sequence

from rules.asking.questions import NOT_SURE, UNKNOWN, Question
from rules.asking.sayings import say
from rules.asking.turns import Ask, Say

__all__ = ["ask_question", "fits_one_text", "numbered", "pack", "septets"]

_GSM7 = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    "ÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_GSM7_DOUBLE = frozenset("^{}\\[~]|€\f")
_FOLDED = str.maketrans("áíóúÁÍÓÚ", "aiouAIOU")
_ONE_TEXT_SEPTETS = 160
_ONE_TEXT_UNITS = 70


def septets(text: str) -> int | None:
    """The length of a text in GSM-7 septets after folding; None if outside that alphabet."""
    folded = text.translate(_FOLDED)
    if not all(c in _GSM7 or c in _GSM7_DOUBLE for c in folded):
        return None
    return len(folded) + sum(c in _GSM7_DOUBLE for c in folded)


def fits_one_text(text: str) -> bool:
    """Whether a text goes out as one segment."""
    count = septets(text)
    if count is None:
        return len(text.encode("utf-16-le")) // 2 <= _ONE_TEXT_UNITS
    return count <= _ONE_TEXT_SEPTETS


def pack(lead: Sequence[str], last: Say) -> tuple[Say, ...]:
    """The leading sentences and a last one, in as few texts as one segment each allows.

    The order is kept and no sentence is broken; what the last one asks stays with it.
    """
    texts: list[str] = []
    for sentence in (*lead, last.text):
        joined = f"{texts[-1]} {sentence}" if texts else sentence
        if texts and fits_one_text(joined):
            texts[-1] = joined
        else:
            texts.append(sentence)
    return (*(Say(text) for text in texts[:-1]), Say(texts[-1], asks=last.asks, urgent=last.urgent))


def numbered(sentence: str, labels: Sequence[tuple[str, str]]) -> str:
    """A sentence and its choices, each on a line: what to send, and what that says."""
    return sentence + "".join(f"\n{number} {label}" for number, label in labels)


def ask_question(asked: Question, language: str, sentence: str) -> Say:
    """A question with its numbered choices, or as it stands when it asks for a number."""
    choices = [(str(n), choice) for n, choice in enumerate(asked.choices, start=1)]
    offered = tuple((number, choice.means) for number, choice in choices)
    ask = Ask(asked.id, (*offered, (NOT_SURE, UNKNOWN)))
    if not choices:
        return Say(sentence, asks=ask)
    labels = [(number, choice.label.in_language(language)) for number, choice in choices]
    return Say(numbered(sentence, [*labels, (NOT_SURE, say("not_sure", language))]), asks=ask)
