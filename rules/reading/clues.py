"""Everything in a text that may speak for a kind of trouble or for an intent.

Theory of operation
-------------------
Clues of words: beginnings of words, the first and the last, two in a row; the classes of
``words_*`` and two of them near each other in their order; the concepts of danger and two of them in one
text; a question mark, and how long the text is. Clues of rules: what the rules made of the text, which
of their lists it says, what was asked. Nothing is weighed here; ``weights`` says what each is worth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations, pairwise

from rules.reading.by_rule import ByRule
from rules.reading.danger_table import danger_table
from rules.reading.phrases import Section
from rules.reading.tokens import Tokens
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Sort, Word

__all__ = ["BEGINNING", "clues_of_rules", "clues_of_words"]

BEGINNING = 5
_NEAR = 4
_WORDS_A_STEP = 4
_LONGEST_STEP = 6
_QUESTION_MARKS = frozenset("?¿")
# Light words stand between all others and tell nothing.
_UNTOLD = "LIGHT"


def clues_of_words(words: Sequence[Word], tokens: Tokens) -> set[str]:
    """What the words say by themselves; ``tokens`` are those of ``danger``."""
    found = {"?"} if any(word.text in _QUESTION_MARKS for word in words) else set[str]()
    spoken = [
        word.text[:BEGINNING] if word.sort is Sort.WORD else "0"
        for word in words
        if word.sort is Sort.WORD or word.sort is Sort.NUMBER
    ]
    found.add(f"#{min(_LONGEST_STEP, len(spoken) // _WORDS_A_STEP)}")
    found.update(spoken)
    if spoken:
        found.update((f"^{spoken[0]}", f"{spoken[-1]}$"))
    found.update(f"{word} {other}" for word, other in pairwise(spoken))
    _add_classes(found, words)
    _add_concepts(found, tokens)
    return found


def _add_classes(found: set[str], words: Sequence[Word]) -> None:
    seen, names = _classes()
    told = [names[mark.signs] for mark in seen.marks.row(words)]
    for at, classes in enumerate(told):
        if not classes:
            continue
        found.update(classes)
        for others in told[at + 1 : at + 1 + _NEAR]:
            for one in classes:
                for other in others:
                    found.add(f"{one} {other}")


def _add_concepts(found: set[str], tokens: Tokens) -> None:
    told = frozenset(tokens.told())
    concepts = sorted(
        f"!{name}" if name in told else f"!not {name}"
        for name in tokens.hits.keys() - danger_table().ear.unweighed.concepts
    )
    found.update(concepts)
    found.update(f"{one} {other}" for one, other in combinations(concepts, 2))


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
    """A section that mentions every class, and what its signs are called."""
    names = sorted(vocabulary().classes.keys() - {_UNTOLD})
    seen = Section({"reads": names, "phrases": {}})
    return seen, _Names({sign: name for name, sign in seen.signs.items()})


def clues_of_rules(told: ByRule, *, taken_back: bool) -> set[str]:
    """What the rules found; ``taken_back`` says that the text takes the sign of a danger back."""
    return set(_of_rules(told, taken_back=taken_back))


def _of_rules(told: ByRule, *, taken_back: bool) -> Iterator[str]:
    yield f"wants {told.intent.value}"
    for kind in told.kinds:
        yield f"kind {kind.value}"
    for danger in told.signs:
        yield f"sign {danger.kind}"
    if taken_back:
        yield "taken back"
    if told.asked is not None:
        yield "asked"
        yield f"asked {told.asked}"
    if told.answer is not None:
        yield "answers"
    home, degrees = told.parts.home, told.parts.degrees
    for name, value in (
        ("room_temp", degrees.room),
        ("setpoint", degrees.setpoint),
        ("emitter", home.emitter),
        ("window_open", home.window_open),
        ("thermostat_blank", home.thermostat_blank),
        ("rooms", home.rooms),
    ):
        if value is not None:
            yield f"tells {name}"
    for name in told.talk.said():
        yield f"talk {name}"
    for name in told.parts.trouble.said:
        yield f"trouble {name}"
