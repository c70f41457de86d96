"""Everything in a text that may speak for a kind of trouble or for an intent.

Theory of operation
-------------------
Clues of a word: its beginning, and each four letters of it in a row, by which a misspelt or inflected
word is known. Clues of words: the first and the last, two in a row; the classes of ``words_*`` and two
of them near each other in their order; the concepts of danger and two of them in one text; a question
mark, how long the text is; each class and word beside the question that was asked. Clues of rules: what
the rules made of the text, which of their lists it says, what was asked. Nothing is weighed here;
``weights`` says what each is worth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations, pairwise

from rules.model import TopicId
from rules.reading.by_rule import ByRule
from rules.reading.danger import Danger
from rules.reading.danger_table import danger_table
from rules.reading.phrases import CLASSES, Section, section
from rules.reading.slots import by_rule as slots_by_rule
from rules.reading.slots import name_of_value
from rules.reading.tokens import Tokens
from rules.reading.words import Sort, Words

__all__ = ["clues_of_rules", "clues_of_signs", "clues_of_word", "clues_of_words", "spoken_in"]

_BEGINNING = 5
_LETTERS = 4
_NUMBER = "0"
_NEAR = 4
_WORDS_A_STEP = 4
_LONGEST_STEP = 6
_QUESTION_MARKS = frozenset("?¿")


def spoken_in(words: Words) -> list[str]:
    """The words without breaks, every number as one and the same."""
    return [
        word.text if word.sort is Sort.WORD else _NUMBER
        for word in words
        if word.sort is Sort.WORD or word.sort is Sort.NUMBER
    ]


def clues_of_word(word: str) -> list[str]:
    """What a word says wherever it stands; the letters of one that is none say nothing."""
    if not word.isalpha():
        return [word[:_BEGINNING]]
    whole = f"<{word}>"
    letters = {whole[at : at + _LETTERS] for at in range(len(whole) - _LETTERS + 1)}
    return [word[:_BEGINNING], *(f"~{some}" for some in sorted(letters))]


def clues_of_words(words: Words, tokens: Tokens, asked: TopicId | None = None) -> set[str]:
    """What the words say together; ``tokens`` are those of ``danger``, ``asked`` the question."""
    found = set[str]() if _QUESTION_MARKS.isdisjoint(words.texts) else {"?"}
    spoken = [word[:_BEGINNING] for word in spoken_in(words)]
    found.add(f"#{min(_LONGEST_STEP, len(spoken) // _WORDS_A_STEP)}")
    if spoken:
        found.update((f"^{spoken[0]}", f"{spoken[-1]}$"))
    found.update(map(" ".join, pairwise(spoken)))
    classes = _add_classes(found, words)
    _add_concepts(found, tokens)
    if asked is not None:
        found.update([f"{asked}: {one}" for one in (*classes, *spoken)])
    return found


def _add_classes(found: set[str], words: Words) -> set[str]:
    """Add the classes of words and two near each other; the classes are handed back."""
    seen, names = _classes()
    told = [names[mark.signs] for mark in seen.row(words)]
    alone = {one for classes in told for one in classes}
    found |= alone
    for at, classes in enumerate(told):
        if classes:
            after = [other for others in told[at + 1 : at + 1 + _NEAR] for other in others]
            found.update([f"{one} {other}" for one in classes for other in after])
    return alone


def _add_concepts(found: set[str], tokens: Tokens) -> None:
    told = tokens.told()
    concepts = sorted(
        [
            f"!{name}" if name in told else f"!not {name}"
            for name in tokens.hits.keys() - danger_table().ear.unweighed
        ]
    )
    found.update(concepts)
    found.update(map(" ".join, combinations(concepts, 2)))


class _Names(dict[str, tuple[str, ...]]):
    """The classes of a mark of the line."""

    def __init__(self, names: dict[str, str]) -> None:
        self._names = names

    def __missing__(self, mark: str) -> tuple[str, ...]:
        found = tuple(self._names[sign] for sign in mark if sign in self._names)
        self[mark] = found
        return found


@cache
def _classes() -> tuple[Section, _Names]:
    """The section that mentions every class, and what its signs are called."""
    seen = section(CLASSES)
    return seen, _Names({sign: name for name, sign in seen.signs.items()})


def clues_of_rules(told: ByRule, *, taken_back: bool) -> set[str]:
    """What the rules found; ``taken_back`` says that the text takes the sign of a danger back."""
    return set(_of_rules(told, taken_back=taken_back))


def _of_rules(told: ByRule, *, taken_back: bool) -> Iterator[str]:
    yield f"wants {told.intent}"
    for kind in told.kinds:
        yield f"kind {kind}"
    yield from clues_of_signs(told.signs, taken_back=taken_back)
    if told.asked is not None:
        yield "asked"
        yield f"asked {told.asked}"
    if told.answer is not None:
        yield "answers"
    if told.parts.degrees.room is not None:
        yield "tells room_temp"
    if told.parts.degrees.setpoint is not None:
        yield "tells setpoint"
    yield from _of_lists(told)


def clues_of_signs(signs: Sequence[Danger], *, taken_back: bool) -> Iterator[str]:
    """What the signs of danger say."""
    for danger in signs:
        yield f"sign {danger.kind}"
    if taken_back:
        yield "taken back"


def _of_lists(told: ByRule) -> Iterator[str]:
    """What is told of the home, and the lists of phrases that are said."""
    for slot in slots_by_rule(told.parts.home, told.parts.trouble.noise).told():
        yield f"is {slot.field} {name_of_value(slot.value)}"
    for name in told.talk.said:
        yield f"talk {name}"
    for name in told.said:
        yield f"trouble {name}"
