"""Which language a text is written in.

Theory of operation
-------------------
Words that only one language knows are counted, without the words Spanish borrows ("el heater"). A
text is mixed only if each language has a phrase: two or more of its words in a row, not just one
loanword; or if one has a phrase and the other several words that the first keeps apart. Words of both
languages ("no", "me") neither make nor break a row.
"""

from __future__ import annotations

from functools import lru_cache

from rules.model import Language
from rules.reading.vocabulary import LANGUAGES, vocabulary
from rules.reading.words import Sort, Words

__all__ = ["language_of"]

# Endings and letters that no English word has.
_SPANISH_ENDINGS = ("cion", "ando", "iendo", "ito", "ita", "amos", "emos", "aron", "ieron", "dad")
# The lesser language of a mixed text has at least this share of the words of the greater.
_SHARE_OF_MIXED = 0.15
# The same for words that stand apart, of which a few may be borrowed.
_SHARE_OF_SCATTERED = 0.4
_ENGLISH_LETTER = "i"
# What a word tells, in one letter each.
_ENGLISH, _SPANISH, _THIRD, _BORROWED, _LOOKS_SPANISH = "ESTBL"
_SIGNS = {"en": _ENGLISH, "es": _SPANISH}
_SPANISH_SIGNS = "ñÑ¿¡áéíóúÁÉÍÓÚ"


def language_of(text: str, words: Words) -> tuple[Language, int]:
    """The language of a text, English if nothing tells, and how many words only it knows."""
    told = "".join([_told_by(word.text) for word in words if word.sort is Sort.WORD])
    # Borrowed words lengthen a row of English and are passed over in Spanish.
    english, english_row = _count(told.replace(_LOOKS_SPANISH, ""), _ENGLISH, _SPANISH)
    spanish_told = told.replace(_BORROWED, "").replace(_LOOKS_SPANISH, _SPANISH)
    spanish, spanish_row = _count(spanish_told, _SPANISH, _ENGLISH)
    if not text.isascii() and any(sign in text for sign in _SPANISH_SIGNS):
        spanish += 1
    fewer, more = sorted((english, spanish))
    shorter_row, longer_row = sorted((english_row, spanish_row))
    if shorter_row >= 2 and fewer >= _SHARE_OF_MIXED * more:
        return Language.MIXED, more
    if longer_row >= 2 and fewer >= 2 and fewer >= _SHARE_OF_SCATTERED * more:
        return Language.MIXED, more
    return (Language.ES, spanish) if spanish > english else (Language.EN, english)


def _count(told: str, own: str, other: str) -> tuple[int, int]:
    """How many words are of one language alone, and the longest row that holds one of them."""
    rows = told.replace(_THIRD, other).split(other)
    return told.count(own), max((len(row) for row in rows if own in row), default=0)


@lru_cache(maxsize=8192)
def _told_by(word: str) -> str:
    """The sign of the language that alone knows a word, or of what else it tells; often nothing."""
    if len(word) < 2 and word != _ENGLISH_LETTER:
        return ""
    known = vocabulary().languages.get(word)
    if known is None:
        spanish = len(word) > 5 and word.endswith(_SPANISH_ENDINGS)
        return _LOOKS_SPANISH if spanish else ""
    if len(known) == 1:
        return _SIGNS.get(next(iter(known)), _THIRD)
    return _BORROWED if len(known) == len(LANGUAGES) else ""
