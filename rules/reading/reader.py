"""A tenant's text as observations.

Theory of operation
-------------------
Dangers are looked for first and on their own. The text is folded and cut into words once; the rules say
what they find (``by_rule``), and what they find is weighed together with the words themselves
(``clues``, ``weights``): that decides the intent and the kinds of trouble. A word that opts out of
texting, and what texting laws hang on it, is never weighed. Every danger is a trouble of some kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rules.model import Intent, Kind, Noise, TopicId
from rules.reading.answers import is_bare
from rules.reading.by_rule import NO_KINDS, ByRule, by_rule
from rules.reading.clues import BEGINNING, clues_of_rules, clues_of_words
from rules.reading.danger import Danger, Heard, listened
from rules.reading.folding import fold
from rules.reading.languages import language_of
from rules.reading.people import people_in
from rules.reading.seen import Reading, Span
from rules.reading.talk import language_wish
from rules.reading.weights import decided, weights
from rules.reading.words import Sort, words_of

__all__ = ["read"]

_NEWS = (Intent.RESOLVED, Intent.CANCEL, Intent.WANT_HUMAN)


def read(text: str, asked: TopicId | None = None) -> Reading:
    """Read any text; ``asked`` is the question it may answer."""
    folded = fold(text)
    heard = listened(folded)
    all_words = words_of(folded)
    told = by_rule(text, all_words, heard.told, asked)
    intent, kinds = _weighed(heard, told)
    parts = told.parts
    # Those a danger has made sick are no people with an illness.
    care = people_in(
        told.words,
        gassed=any(danger.kind == "co" for danger in heard.dangers),
        endangered=bool(heard.dangers),
    )
    if intent in NO_KINDS:
        # A room and a child named beside no trouble are no place of it and nobody at risk from it.
        parts = replace(parts, home=replace(parts.home, rooms=None))
        care = {} if intent is Intent.OTHER else care
    language, language_words = language_of(text, all_words)
    noise = (parts.trouble.noise or Noise.OTHER) if Kind.NOISE in kinds else None
    return Reading(
        language=language,
        language_words=language_words,
        intent=intent,
        kinds=kinds,
        danger=bool(heard.dangers),
        danger_kinds=tuple(dict.fromkeys(danger.kind for danger in heard.dangers)),
        room_temp=parts.degrees.room,
        setpoint=parts.degrees.setpoint,
        noise=noise,
        care=tuple(care),
        emitter=parts.home.emitter,
        window_open=parts.home.window_open,
        thermostat_blank=parts.home.thermostat_blank,
        rooms=parts.home.rooms,
        answer=told.answer,
        bare=is_bare(told.words),
        place=parts.place,
        spans=(
            *(Span(d.start, d.end, f"danger:{d.kind}") for d in heard.dangers),
            *(_span(kind, told, heard.dangers) for kind in kinds),
            *parts.degrees.spans,
            *parts.home.spans,
            *(() if parts.place_span is None else (parts.place_span,)),
            *care.values(),
        ),
        oven_in_use=parts.home.oven_in_use,
        language_wish=language_wish(told.words),
    )


def _weighed(heard: Heard, told: ByRule) -> tuple[Intent, tuple[Kind, ...]]:
    if told.talk.is_keyword() or not told.words:
        return told.intent, told.kinds
    sums = weights().sums(
        clues_of_words(told.words, heard.tokens),
        clues_of_rules(told, taken_back=heard.taken_back),
    )
    denied = [kind for kind in Kind if f"not {kind.value}" in told.parts.trouble.said]
    intent, kinds = decided(
        sums,
        told.intent,
        told.kinds,
        danger=bool(heard.dangers),
        denied=denied,
        may_stop=not told.talk.names_another_stop(),
    )
    # "It is fixed now" answers no question, though one is out.
    if intent is Intent.ANSWER and told.intent in _NEWS and told.asked and told.answer is None:
        return told.intent, ()
    return intent, kinds


def _span(kind: Kind, told: ByRule, dangers: Sequence[Danger]) -> Span:
    """The words that tell of a kind: those of a rule, a number, a danger, else the weightiest."""
    what = f"kind:{kind.value}"
    for found, start, end in told.parts.trouble.kinds:
        if found is kind:
            return Span(start, end, what)
    if kind in (Kind.TOO_COLD, Kind.TOO_HOT) and (numbers := told.parts.degrees.spans):
        return Span(numbers[0].start, numbers[0].end, what)
    if dangers:
        return Span(dangers[0].start, dangers[0].end, what)
    spoken = [word for word in told.words if word.sort is Sort.WORD] or told.words
    worth = weights()
    best = max(spoken, key=lambda word: worth.weight(word.text[:BEGINNING], kind))
    return Span(best.start, best.end, what)
