"""The words of all languages, from the ``words_*`` tables.

Theory of operation
-------------------
A class is a set of words and phrases that do the same work in a sentence, in any language: COLD is
"cold", "freezing", "helado". Phrases of ``phrases.yaml`` are written in classes, so a further language
is one more table named in ``LANGUAGES``. ``targets`` are the words a misspelling is first taken for.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cache

from rules.data import table
from rules.reading.folding import fold

__all__ = ["LANGUAGES", "Phrase", "Vocabulary", "vocabulary"]

LANGUAGES = ("en", "es", "signs")

Phrase = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Everything the tables know about words."""

    classes: dict[str, frozenset[Phrase]]
    numbers: dict[str, int]
    joiners: frozenset[str]
    halves: tuple[Phrase, ...]
    turns: frozenset[str]
    minus: frozenset[str]
    abbreviations: frozenset[str]
    after_no: frozenset[str]
    contractions: dict[str, str]
    aliases: dict[str, str]
    languages: dict[str, frozenset[str]]
    known: frozenset[str]
    targets: frozenset[str]


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
        halves=tuple(tuple(half.split(" ")) for half in sorted(_listed("halves"))),
        turns=_listed("turns"),
        minus=_listed("minus"),
        abbreviations=_listed("abbreviations"),
        after_no=_listed("after_no"),
        contractions=_pairs("contractions"),
        aliases=_pairs("aliases"),
        languages={word: frozenset(found) for word, found in languages.items()},
        known=frozenset(languages),
        targets=frozenset(targets),
    )


def _listed(name: str) -> frozenset[str]:
    return frozenset(word for language in LANGUAGES for word in table(f"words_{language}")[name])


def _pairs(name: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for language in LANGUAGES:
        found |= table(f"words_{language}")[name]
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
        _spelt(match.group()) for match in fold(form).pieces if match.group() not in "-/.'"
    )


def _spelt(piece: str) -> str:
    return piece.replace(".", "") if piece[0].isalpha() else piece
