"""The words of all languages, from the ``words_*`` tables, and the known word nearest to a misspelt one.

Theory of operation
-------------------
A class is a set of words and phrases that do the same work in a sentence, in any language: COLD is
"cold", "freezing", "helado". Phrases of ``phrases.yaml`` are written in classes, so a further language
is one more table named in ``LANGUAGES``. Only a word that no table knows is taken for a misspelling,
only of a word of the classes named under ``mended`` that begins alike, is at least five letters long
and differs by one slip (two in long words). Words in common use that look like one of those stand
in a table of their own, ``words_common``, and stay what they are.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cache, lru_cache

from rapidfuzz.distance import OSA

from rules.data import table
from rules.reading.folding import fold

__all__ = ["LANGUAGES", "Phrase", "Vocabulary", "nearest_known", "pieces", "vocabulary"]

LANGUAGES = ("en", "es", "signs")

Phrase = tuple[str, ...]
_PIECE = re.compile(r"\d{1,2}:\d\d(?!\d)|\d+(?:[.,]\d+)?|[ap]\.m\b\.?|[^\W\d_]+|[^\w\s]|_")
_SHORTEST_MISSPELT = 5
_LONG_WORD = 9
_MIDDLING_WORD = 7


def pieces(folded: str) -> list[re.Match[str]]:
    """Words, numbers and single signs of folded text, in order."""
    return list(_PIECE.finditer(folded))


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Everything the tables know about words."""

    classes: dict[str, frozenset[Phrase]]
    numbers: dict[str, int]
    joiners: frozenset[str]
    turns: frozenset[str]
    minus: frozenset[str]
    abbreviations: frozenset[str]
    after_no: frozenset[str]
    contractions: dict[str, str]
    languages: dict[str, frozenset[str]]
    known: frozenset[str]
    targets: dict[str, tuple[str, ...]]


@cache
def vocabulary() -> Vocabulary:
    """The vocabulary, read once per process."""
    classes: dict[str, set[Phrase]] = defaultdict(set)
    languages: dict[str, set[str]] = defaultdict(set)
    numbers: dict[str, int] = {}
    targets: set[str] = set()
    mended = frozenset(table("phrases")["mended"])
    for word in (*_words_of_phrases(), *_split(table("words_common")["words"])):
        languages[word] = set()
    for language in LANGUAGES:
        raw = table(f"words_{language}")
        for name, forms in raw["classes"].items():
            for phrase in map(_phrase, _split(forms)):
                classes[name].add(phrase)
                if name in mended and len(phrase) == 1:
                    targets.update(phrase)
                if len(phrase) == 1:
                    languages[phrase[0]].add(language)
        for word in (*_split(raw["plain"]), *raw["numbers"]):
            languages[fold(word).text].add(language)
        for word in _split(raw.get("borrowed", "")):
            languages[word].update(LANGUAGES)
        numbers |= {fold(word).text: value for word, value in raw["numbers"].items()}
    _add_words_of_longer_phrases(languages)
    return Vocabulary(
        classes={name: frozenset(forms) for name, forms in classes.items()},
        numbers=numbers,
        joiners=_listed("joiners"),
        turns=_listed("turns"),
        minus=_listed("minus"),
        abbreviations=_listed("abbreviations"),
        after_no=_listed("after_no"),
        contractions=_contractions(),
        languages={word: frozenset(found) for word, found in languages.items()},
        known=frozenset(languages),
        targets=_by_first_letter(targets),
    )


def _listed(name: str) -> frozenset[str]:
    return frozenset(word for language in LANGUAGES for word in table(f"words_{language}")[name])


def _contractions() -> dict[str, str]:
    found: dict[str, str] = {}
    for language in LANGUAGES:
        found |= table(f"words_{language}")["contractions"]
    return found


def _add_words_of_longer_phrases(languages: dict[str, set[str]]) -> None:
    """Words that occur in phrases alone tell a language too, unless they are words of another."""
    told = {word for word, found in languages.items() if found}
    for language in LANGUAGES:
        for forms in table(f"words_{language}")["classes"].values():
            for phrase in map(_phrase, _split(forms)):
                for word in phrase:
                    if word not in told:
                        languages[word].add(language)


def _words_of_phrases() -> set[str]:
    """The words that phrases name themselves; they are no misspellings either."""
    texts = [
        text
        for part in table("phrases").values()
        if isinstance(part, dict)
        for texts in part.get("phrases", {}).values()
        for text in texts
    ]
    return set(re.findall(r"[a-z]+", " ".join(texts)))


def _split(forms: str) -> list[str]:
    return [form.strip() for form in forms.split(", ") if form.strip()]


def _phrase(form: str) -> Phrase:
    return tuple(
        _spelt(match.group()) for match in pieces(fold(form).text) if match.group() not in "-/.'"
    )


def _spelt(piece: str) -> str:
    return piece.replace(".", "") if piece[0].isalpha() else piece


def _by_first_letter(words: set[str]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = defaultdict(list)
    for word in sorted(words):
        if len(word) >= _SHORTEST_MISSPELT and word.isalpha():
            found[word[0]].append(word)
    return {letter: tuple(words) for letter, words in found.items()}


@lru_cache(maxsize=4096)
def nearest_known(word: str) -> str:
    """The word itself if a table knows it, else the known word it is most likely meant for."""
    known = vocabulary().known
    if word in known:
        return word
    for shorter in _with_fewer_repeats(word):
        if shorter in known:
            return shorter
    if not _SHORTEST_MISSPELT <= len(word) <= 24:
        return word
    slips = 2 if len(word) >= _LONG_WORD else 1
    best = word
    for target in vocabulary().targets.get(word[0], ()):
        if abs(len(target) - len(word)) <= slips:
            distance = OSA.distance(word, target, score_cutoff=slips)
            if distance <= slips and not is_swapped_letter(word, target):
                best, slips = target, distance - 1
    return best


def is_swapped_letter(word: str, target: str) -> bool:
    """One letter for another makes a different word of a short word ("color", "calor")."""
    if len(word) >= _MIDDLING_WORD or len(word) != len(target):
        return False
    return sorted(word) != sorted(target)


def _with_fewer_repeats(word: str) -> tuple[str, ...]:
    """ "coooold" as "coold" and "cold", "freeezing" as "freezing"; words of two letters stay."""
    if len(word) < 4:
        return ()
    twice = re.sub(r"(.)\1{2,}", r"\1\1", word)
    once = re.sub(r"(.)\1{2,}", r"\1", word)
    single = re.sub(r"(.)\1+", r"\1", word)
    return (twice, once, single) if twice != word else ((single,) if len(single) > 3 else ())
