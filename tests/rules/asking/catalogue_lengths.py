"""Every text a tenant may get, filled in with the longest values we expect, and how plain it is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from rules.asking.questions import questions
from rules.asking.sayings import sayings
from rules.asking.wording import ask_question

__all__ = ["automated_readability", "every_text", "fernandez_huerta", "syllables_es"]

LONGEST = {
    "building": "1250 Martin Luther King Blvd N",  # 30 characters, the most we send
    "reference": "T-7F3KQ",
    "by": "mañana a las 10:30 p. m.",
    "minutes": "150",
    "setting": "73 F",
    "what": "no hot water, heater cold, whole home",
    "code": "123456",
    "news": "the pump is out. We fit a new one at noon.",
}


def every_text(language: str) -> Iterator[tuple[str, str]]:
    """(key, text) of all sayings and questions in one language."""
    for key, row in sayings().items():
        yield key, getattr(row, language).format(**LONGEST)
    for question in questions().values():
        for name, wording in (("", question.asks), (".again", question.again)):
            sentence = wording.in_language(language)
            yield f"{question.id}{name}", ask_question(question, language, sentence).text
        if question.pipe:
            sentence = question.pipe.in_language(language)
            yield f"{question.id}.pipe", ask_question(question, language, sentence).text


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+(?:[-'][^\W_]+)*", text)


def _sentences(text: str) -> int:
    return max(len([part for part in re.split(r"[.!?:]+\s|[.!?:]+$|\n", text) if _words(part)]), 1)


def automated_readability(text: str) -> float:
    """The automated readability index, a United States school grade (Smith and Senter 1967)."""
    words = _words(text)
    letters = sum(len(word) for word in words)
    return 4.71 * letters / len(words) + 0.5 * len(words) / _sentences(text) - 21.43


def fernandez_huerta(text: str) -> float:
    """Reading ease for Spanish, 100 very easy; the form with words a sentence (from memory)."""
    words = [word for word in _words(text) if not word.isdigit()]
    count = sum(syllables_es(word) for word in words)
    return 206.84 - 60 * count / len(words) - 1.02 * len(words) / _sentences(text)


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
