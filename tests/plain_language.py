"""How plain a text is: the formulas that schools use, with syllables counted by rule.

Flesch-Kincaid grade (Kincaid, Fishburne, Rogers and Chissom 1975) for English; Fernandez Huerta (1959),
in the corrected form with syllables a word, for Spanish. Both coefficients from memory.
"""

from __future__ import annotations

import re
from itertools import pairwise

__all__ = [
    "fernandez_huerta",
    "flesch_kincaid",
    "sentences_in",
    "syllables_en",
    "syllables_es",
    "words_in",
]

_WORD = re.compile(r"[^\W_]+(?:[-'][^\W_]+)*")


def words_in(text: str) -> list[str]:
    """The words of a text; numbers are read as figures, not spelt, and left out."""
    return [word for word in _WORD.findall(text) if not re.sub(r"[-']", "", word).isdigit()]


def sentences_in(text: str) -> int:
    """How many sentences; a line and what stands before a colon count as one each."""
    parts = re.split(r"[.!?:]+\s|[.!?:]+$|\n", text)
    return max(sum(bool(words_in(part)) for part in parts), 1)


def flesch_kincaid(text: str) -> float:
    """The school grade of an English text."""
    words = words_in(text)
    syllables = sum(map(syllables_en, words))
    return 0.39 * len(words) / sentences_in(text) + 11.8 * syllables / len(words) - 15.59


def fernandez_huerta(text: str) -> float:
    """The reading ease of a Spanish text, 100 very easy."""
    words = words_in(text)
    syllables = sum(map(syllables_es, words))
    return 206.84 - 60 * syllables / len(words) - 1.02 * len(words) / sentences_in(text)


def syllables_en(word: str) -> int:
    """Syllables of an English word: vowel groups, without endings that are not spoken."""
    plain = re.sub(r"[^a-z]", "", word.lower())
    groups = re.findall(r"[aeiouy]+", plain)
    if not groups:
        return len(plain) if word.isupper() and 0 < len(plain) <= 3 else 1  # "F" or "CO"
    count = len(groups)
    silent = (
        (plain.endswith("e") and not plain.endswith(("le", "ee", "ye", "oe")))
        or re.search(r"[aeiouy]les?$", plain) is not None
        or (plain.endswith("ed") and not plain.endswith(("ted", "ded")))
        or (
            plain.endswith("es")
            and not plain.endswith(("ses", "xes", "zes", "ches", "shes", "ces", "ges", "ies"))
        )
    )
    return max(count - (silent and count > 1), 1)


def syllables_es(word: str) -> int:
    """Syllables of a Spanish word: vowel groups, split between strong vowels and at í and ú."""
    lower = word.lower()
    lower = re.sub(r"gu(?=[eiéí])", "g", lower)
    lower = re.sub(r"qu(?=[eiéí])", "q", lower)
    lower = re.sub(r"y$", "i", lower)
    lower = re.sub(r"y(?![aeiouáéíóúü])", "i", lower)
    count = 0
    for group in re.findall(r"[aeiouáéíóúü]+", lower):
        count += 1
        for first, second in pairwise(group):
            hiatus = (first in "aeoáéó" and second in "aeoáéó") or first in "íú" or second in "íú"
            count += hiatus
    return max(count, 1)
