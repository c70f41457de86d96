"""Which language a text is written in.

Theory of operation
-------------------
Words that only one language knows are counted, without the words Spanish borrows ("el heater"). A
text is mixed only if each language has a phrase: two or more of its words in a row, not just one
loanword; or if one has a phrase and the other several words that the first keeps apart. Words of both
languages ("no", "me") neither make nor break a row.
"""

from __future__ import annotations

from collections.abc import Sequence

from rules.model import Language
from rules.reading.vocabulary import LANGUAGES, vocabulary
from rules.reading.words import Sort, Word

__all__ = ["language_of"]

# Endings and letters that no English word has.
_SPANISH_ENDINGS = ("cion", "ando", "iendo", "ito", "ita", "amos", "emos", "aron", "ieron", "dad")
# The lesser language of a mixed text has at least this share of the words of the greater.
_SHARE_OF_MIXED = 0.15
# The same for words that stand apart, of which a few may be borrowed.
_SHARE_OF_SCATTERED = 0.4
_ENGLISH_LETTER = "i"
_SPANISH_SIGNS = "ñÑ¿¡áéíóúÁÉÍÓÚ"


def language_of(text: str, words: Sequence[Word]) -> tuple[Language, int]:
    """The language of a text, English if nothing tells, and how many words only it knows."""
    english, english_row = _count(words, "en")
    spanish, spanish_row = _count(words, "es")
    if any(sign in text for sign in _SPANISH_SIGNS):
        spanish += 1
    fewer, more = sorted((english, spanish))
    shorter_row, longer_row = sorted((english_row, spanish_row))
    if shorter_row >= 2 and fewer >= _SHARE_OF_MIXED * more:
        return Language.MIXED, more
    if longer_row >= 2 and fewer >= 2 and fewer >= _SHARE_OF_SCATTERED * more:
        return Language.MIXED, more
    return (Language.ES, spanish) if spanish > english else (Language.EN, english)


def _count(words: Sequence[Word], language: str) -> tuple[int, int]:
    """How many words are of one language alone, and the longest row that holds one of them.

    Borrowed words lengthen a row of English and are passed over in Spanish.
    """
    only, languages = frozenset((language,)), vocabulary().languages
    total = row = own = longest = 0
    for word in words:
        if word.sort is not Sort.WORD or (len(word.text) < 2 and word.text != _ENGLISH_LETTER):
            continue
        known = languages.get(word.text)
        if known == only or (known is None and language == "es" and _looks_spanish(word)):
            total, row, own = total + 1, row + 1, own + 1
        elif known and len(known) == 1:
            row = own = 0
        elif known and len(known) == len(LANGUAGES) and language == "en":
            row += 1
        if own:
            longest = max(longest, row)
    return total, longest


def _looks_spanish(word: Word) -> bool:
    return len(word.text) > 5 and word.text.endswith(_SPANISH_ENDINGS)
