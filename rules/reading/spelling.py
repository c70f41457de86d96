"""The known word a misspelt one is meant for.

Theory of operation
-------------------
Only a word that no table knows is taken for a misspelling. It is mended by what is surest: letters
typed twice ("coooold"), a Spanish word written as it sounds ("kiero ablar"), an ending that makes a
word smaller, bigger or stronger ("heladisimo"), two letters changed about in a short word ("hto"),
one slip (two in long words) from a word of the classes named under ``mended``, one slip from any
other known word. Words in common use that look like one of those stand in ``words_common``, and stay
what they are.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from rules.reading.vocabulary import vocabulary

__all__ = [
    "Targets",
    "about_as_long",
    "grouped",
    "is_swapped_letter",
    "nearest_known",
    "nearly",
    "sound",
    "without_ending",
]

# Words that a misspelling may be meant for, by first letter and length.
Targets = Mapping[tuple[str, int], Sequence[str]]

_SHORTEST_MISSPELT = 5
_SHORTEST_PLAIN = 6
_LONGEST_MISSPELT = 24
_SHORTEST_SOUND = 4
_SHORT_WORD = 4
_MIDDLING_WORD = 7
_LONG_WORD = 9
# What is spelt in more than one way in Spanish and sounds the same; in order.
_SOUNDS = tuple(
    (re.compile(pattern), sound)
    for pattern, sound in (
        (r"ph", "f"),
        (r"qu(?=[ei])|q", "k"),
        (r"ch", "C"),
        (r"h", ""),
        (r"ll", "y"),
        (r"v", "b"),
        (r"c(?=[ei])|z|x", "s"),
        (r"c", "k"),
        (r"g(?=[ei])", "j"),
        (r"gu(?=[ei])", "g"),
        (r"n(?=[bp])", "m"),
        (r"(.)\1+", r"\1"),
    )
)
_ENDINGS = re.compile(
    r"(?:isim[oa]s?|e?cit[oa]s?|it[oa]s?|az[oa]s?|cillos?|on|ones|ot[ea]s?|a[oa]s?|ao)$"
)
_STEM_ENDINGS = ("o", "a", "e", "", "os", "as", "es", "ado", "ada")
_SHORTEST_STEM = 3


@lru_cache(maxsize=8192)
def nearest_known(word: str) -> str:
    """The word itself if a table knows it, else the known word it is most likely meant for."""
    known = vocabulary().known
    if word in known:
        return word
    for shorter in _with_fewer_repeats(word):
        if shorter in known:
            return shorter
    if not word.isalpha() or len(word) > _LONGEST_MISSPELT:
        return word
    return next(_guesses(word), word)


def is_swapped_letter(word: str, target: str) -> bool:
    """One letter for another makes a different word of a short word ("color", "calor")."""
    if len(word) >= _MIDDLING_WORD or len(word) != len(target):
        return False
    return sorted(word) != sorted(target)


def _guesses(word: str) -> Iterator[str]:
    sounding = _by_sound().get(sound(word)) if len(word) >= _SHORTEST_SOUND else None
    if sounding is not None:
        yield sounding
    targets = vocabulary().targets
    yield from (base for base in without_ending(word) if base in targets)
    if len(word) <= _SHORT_WORD:
        yield from _turned_about(word)
        return
    begun = word[1] + word[0] + word[2:]
    if begun in targets:
        yield begun  # "aclienta": words are looked for by their first letter
    mended, others = _targets()
    yield from _one_slip(word, mended, _SHORTEST_MISSPELT)
    yield from _one_slip(word, others, _SHORTEST_PLAIN)


def _one_slip(word: str, targets: Targets, shortest: int) -> Iterator[str]:
    if len(word) < shortest:
        return
    slips = 2 if len(word) >= _LONG_WORD else 1
    near = nearly(word, about_as_long(word, targets, slips), slips)
    yield from (target for _, target in near if not is_swapped_letter(word, target))


def about_as_long(word: str, targets: Targets, slips: int) -> list[str]:
    """The targets of the same beginning that so many slips could make of a word."""
    lengths = range(len(word) - slips, len(word) + slips + 1)
    return [target for length in lengths for target in targets.get((word[0], length), ())]


def nearly(word: str, targets: Sequence[str], slips: int) -> list[tuple[int, str]]:
    """The targets that are a word but for so many slips at most, the fewest first."""
    if not targets:
        return []
    found = process.extract(
        word, targets, scorer=OSA.distance, processor=None, score_cutoff=slips, limit=None
    )
    return sorted((int(distance), target) for target, distance, _ in found)


def _turned_about(word: str) -> Iterator[str]:
    """ "hto" as "hot", "haet" as "heat", "rfia" as "fria": two neighboring letters changed places."""
    for at in range(len(word) - 1):
        other = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
        if other != word and other in vocabulary().targets:
            yield other


def without_ending(word: str) -> Iterator[str]:
    """ "heladisimo" as "helado", "goterita" as "gotera", "bangin" as "banging"."""
    if word.endswith("in"):
        yield word + "g"
    stem = _ENDINGS.sub("", word)
    if stem != word and len(stem) >= _SHORTEST_STEM:
        yield from (stem + ending for ending in _STEM_ENDINGS)


@lru_cache(maxsize=8192)
def sound(word: str) -> str:
    """How a Spanish word sounds, in letters: the same for "huele" and "uele"."""
    for pattern, letters in _SOUNDS:
        word = pattern.sub(letters, word)
    return word


@cache
def _by_sound() -> dict[str, str]:
    """Spanish words by their sound; those of the classes go before the others."""
    words = vocabulary()
    spanish = [word for word, languages in words.languages.items() if languages == {"es"}]
    found: dict[str, str] = {}
    for word in sorted(spanish, key=lambda w: (w not in words.targets, w)):
        if len(word) >= _SHORTEST_SOUND and word.isalpha():
            found.setdefault(sound(word), word)
    return {heard: word for heard, word in found.items() if len(heard) >= _SHORTEST_SOUND}


@cache
def _targets() -> tuple[Targets, Targets]:
    """Words a misspelling may be meant for, first those of the mended classes, then all others."""
    words = vocabulary()
    others = {word for word, languages in words.languages.items() if languages} - words.targets
    return grouped(words.targets, _SHORTEST_MISSPELT), grouped(others, _SHORTEST_PLAIN)


def grouped(words: Iterable[str], shortest: int) -> Targets:
    """Words of letters alone as targets, those of at least so many letters."""
    found: dict[tuple[str, int], list[str]] = defaultdict(list)
    for word in words:
        if len(word) >= shortest and word.isalpha():
            found[word[0], len(word)].append(word)
    return dict(found)


def _with_fewer_repeats(word: str) -> tuple[str, ...]:
    """ "coooold" as "coold" and "cold", "freeezing" as "freezing"; words of two letters stay."""
    if len(word) < _SHORT_WORD:
        return ()
    twice = re.sub(r"(.)\1{2,}", r"\1\1", word)
    once = re.sub(r"(.)\1{2,}", r"\1", word)
    single = re.sub(r"(.)\1+", r"\1", word)
    return (twice, once, single) if twice != word else ((single,) if len(single) > 3 else ())
