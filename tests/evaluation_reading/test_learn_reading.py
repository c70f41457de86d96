"""The weights of kinds and intents on file are usable, and learning finds what is plain."""

from __future__ import annotations

from collections import Counter

import yaml

from rules.data import table
from rules.model import Intent, Kind
from rules.reading.once_more import WEIGHED, once_more_of
from rules.reading.weights import LABELS, Weights, intents_of, kinds_of, packed, weights_of

from .learn_once_more import learn_once_more, once_more_written
from .learn_reading import learn, written
from .reading_lessons import CLUES_OF_WORDS, Lesson, everything, seen_in

_TEXTS = (
    ("cold heat", Kind.TOO_COLD, Intent.COMPLAINT),
    ("hot room", Kind.TOO_HOT, Intent.COMPLAINT),
    ("thanks fixed", None, Intent.RESOLVED),
)


def _lesson(hand: str, words: str, kind: Kind | None, intent: Intent) -> Lesson:
    labels = tuple(label is kind or label is intent for label in LABELS)
    rules = frozenset({f"wants {intent.value}"})
    return Lesson(hand, Counter(words.split()), rules, labels, (intent, ()))


def test_what_words_plainly_say_is_learned() -> None:
    """Three kinds of text told six times by two hands: each is told apart afterwards."""
    lessons = [
        _lesson(hand, *told) for hand in ("author", "seventh") for _ in range(6) for told in _TEXTS
    ]
    weights = learn(lessons)
    for words, kind, intent in _TEXTS:
        sums = weights.sums(set(), set(words.split()), {f"wants {intent.value}"})
        assert kinds_of(sums) == (() if kind is None else (kind,))
        assert intents_of(sums)[0][0] is intent


def test_a_written_table_is_read_back_as_it_was() -> None:
    """Weights and biases survive the file, clues of two words and with signs too."""
    weights = Weights(
        packed(enumerate(range(-3, len(LABELS) - 3))),
        {"no heat": packed([(0, 5), (3, -7)]), "^si": packed([(1, 2)]), "?": packed([(19, -9)])},
        {"talk human": packed([(4, -1)])},
    )
    again = weights_of(yaml.safe_load(written(weights, {})))
    assert (again.bias, again.words, again.rules) == (weights.bias, weights.words, weights.rules)


def test_what_one_label_says_of_another_is_learned_and_survives_the_file() -> None:
    """Texts about a hot room whose sums speak for cold alone: once more, they are told as hot."""
    sums = [-200] * len(WEIGHED)
    sums[WEIGHED.index(Kind.TOO_COLD)] = 200
    other = [-200] * len(WEIGHED)
    hot = _lesson("seventh", "hot room", Kind.TOO_HOT, Intent.COMPLAINT)
    fixed = _lesson("seventh", "fixed", None, Intent.RESOLVED)
    again = learn_once_more([([hot, fixed] * 30, [sums, other] * 30)])
    kept = once_more_of(yaml.safe_load(once_more_written(again)))
    for weights in (again, kept):
        assert kinds_of(weights.sums(sums, *hot.by_rule, asked=False)) == (Kind.TOO_HOT,)
        assert kinds_of(weights.sums(other, *fixed.by_rule, asked=False)) == ()


def test_the_table_on_file_is_learned_from_what_there_is_now() -> None:
    """Messages, words and rules give the labels and clues that they gave when the table was learned.

    Whoever changes them learns the weights anew; a few messages more or less make no difference.
    """
    kept, now = dict(table("reading_weights")["seen"]), dict(seen_in(everything()))
    of_words = now.pop(CLUES_OF_WORDS)
    assert abs(kept.pop(CLUES_OF_WORDS) - of_words) / of_words < 0.002
    changed = sum(abs(kept.get(name, 0) - now.get(name, 0)) for name in kept.keys() | now.keys())
    assert changed / sum(now.values()) < 0.002
