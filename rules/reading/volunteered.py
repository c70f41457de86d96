"""What a text answers without having been asked.

"It started on Monday" answers when it started, whatever question is out. Only phrases that can hardly
mean anything else count (section ``volunteered`` of ``phrases.yaml``), since a tenant's "today" is
mostly not an answer; where a text says two things about one topic, neither does.
"""

from __future__ import annotations

from rules.model import TopicId
from rules.reading.folding import fold
from rules.reading.phrases import section
from rules.reading.seen import Answer
from rules.reading.words import Words, words_of

__all__ = ["in_words", "volunteered"]


def volunteered(text: str) -> tuple[Answer, ...]:
    """The answers in a text, one a topic at most, in the order of the table."""
    return in_words(words_of(fold(text)))


def in_words(words: Words) -> tuple[Answer, ...]:
    """The same for the words of a text."""
    seen = section("volunteered")
    line = seen.line(words)
    said: dict[str, list[str]] = {}
    for name in seen.lists:
        topic, means = name.split(".")
        if not name.endswith("_not") and seen.standing(line, name):
            said.setdefault(topic, []).append(means)
    return tuple(Answer(TopicId(t), means[0]) for t, means in said.items() if len(means) == 1)
