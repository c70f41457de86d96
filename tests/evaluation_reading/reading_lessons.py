"""What labelled texts teach about kinds and intents: their clues, and the labels they have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rules.model import Intent, Kind, TopicId
from rules.reading.by_rule import ByRule, by_rule
from rules.reading.clues import clues_of_rules, clues_of_word, clues_of_words, spoken_in
from rules.reading.danger import Heard, hear
from rules.reading.folding import fold
from rules.reading.slots import Slot, name_of_value
from rules.reading.weights import DANGER, LABELS
from rules.reading.words import words_of

from .hands import HANDS, rows_of

__all__ = ["CLUES_OF_WORDS", "Lesson", "everything", "lesson", "lessons_of", "name_of", "seen_in"]

CLUES_OF_WORDS = "clues of words"


@dataclass(frozen=True)
class Lesson:
    """A labelled message as clues, who wrote it, and which labels it has, in the order of ``LABELS``.

    Clues of words with in how many different words of the text each is found; ``spoken`` is how many
    words there are.
    """

    hand: str
    words: Counter[str]
    rules: frozenset[str]
    labels: tuple[bool, ...]
    by_rule: tuple[Intent, tuple[Kind, ...]]
    spoken: int = 0


def lessons_of(hand: str) -> list[Lesson]:
    """The messages of one hand."""
    return [lesson(hand, row["text"], row.get("asked"), _names_in(row)) for row in rows_of(hand)]


def _names_in(row: Mapping[str, Any]) -> set[str]:
    """The names of the labels that a message has."""
    names = {*row["kinds"], f"wants {row['intent']}", *([DANGER] if row["danger"] else ())}
    for label in LABELS:
        if isinstance(label, Slot) and row[label.field] is not None:
            value = row[label.field]
            names.add(f"{label.field} {value if isinstance(value, str) else name_of_value(value)}")
    return names


def lesson(hand: str, text: str, asked: str | None, labels: set[str]) -> Lesson:
    """What a text teaches that has these labels, by name; ``asked`` is the question it may answer."""
    folded = fold(text)
    heard = hear(folded)
    told = by_rule(text, words_of(folded), heard.told, TopicId(asked) if asked else None)
    return Lesson(
        hand=hand,
        words=_clues_of_words(told, heard),
        rules=frozenset(clues_of_rules(told, taken_back=heard.taken_back)),
        labels=tuple(name_of(label) in labels for label in LABELS),
        by_rule=(told.intent, told.kinds),
        spoken=len(spoken_in(told.words)),
    )


def _clues_of_words(told: ByRule, heard: Heard) -> Counter[str]:
    found = Counter(clues_of_words(told.words, heard.tokens, told.asked))
    for word in set(spoken_in(told.words)):
        found.update(clues_of_word(word))
    return found


def name_of(label: Kind | Intent | Slot | str) -> str:
    """The label as the table names it: a kind and an intent may have the same name."""
    if isinstance(label, Slot):
        return f"{label.field} {name_of_value(label.value)}"
    if isinstance(label, Intent):
        return f"wants {label.value}"
    return label.value if isinstance(label, Kind) else label


def everything() -> list[Lesson]:
    """The messages of all hands."""
    return [lesson for hand in HANDS for lesson in lessons_of(hand)]


def seen_in(lessons: Sequence[Lesson]) -> Mapping[str, int]:
    """How many messages have each label and each clue of rules, and how many clues their words are.

    Kept with what was learned, it tells whether the same would be learned now.
    """
    seen = Counter(
        f"is {name_of(label)}"
        for x in lessons
        for label, has in zip(LABELS, x.labels, strict=True)
        if has
    )
    seen.update(clue for x in lessons for clue in x.rules)
    seen[CLUES_OF_WORDS] = sum(x.words.total() for x in lessons)
    return dict(sorted(seen.items()))
