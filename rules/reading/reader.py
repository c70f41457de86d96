"""A tenant's text as observations.

Theory of operation
-------------------
Signs of danger are looked for first. The text is folded and cut into words once; the rules say
what they find (``by_rule``), and what they find is weighed together with the words themselves
(``clues``, ``weights``), which decides what is a danger (``listening``) and what is told of the home
(``slots``); what that says of all kinds
of trouble and intents is weighed once more and decides those (``once_more``). A text that does not
answer what was asked may be about something else: where it then wants something by itself ("never
mind"), it is read as if nothing had been asked. A word that opts out of texting, and what texting laws
hang on it, is never weighed. Every danger is a trouble of some kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rules.model import EmitterHeat, Intent, Kind, Rooms, TopicId
from rules.reading.answers import is_bare
from rules.reading.by_rule import NO_KINDS, ByRule, by_rule
from rules.reading.certain import certain_by, denied_by
from rules.reading.clues import clues_of_rules, clues_of_words, spoken_in
from rules.reading.danger import Danger, Heard, hear
from rules.reading.folding import fold
from rules.reading.home import OVEN
from rules.reading.languages import language_of
from rules.reading.listening import listened
from rules.reading.once_more import once_more
from rules.reading.people import people_in
from rules.reading.seen import Reading, Span
from rules.reading.slots import Slot, Slots, name_of_span, slots_of
from rules.reading.slots import by_rule as slots_by_rule
from rules.reading.talk import language_wish
from rules.reading.weights import decided, kinds_of_dangers, sums_of_slots, weights
from rules.reading.words import Sort, Words, words_of

__all__ = ["read"]

# What a text cannot want that plainly tells what is wrong, where nothing was asked.
_NO_COMPLAINT = {Intent.OTHER, Intent.ANSWER, Intent.RESOLVED}
# What dust on a heater sounds like, where the text says that it is no more than that.
_SCARES = {Kind.SMOKE, Kind.ELECTRICAL}
_HOW_HOT = "q_hot"
_ANSWERED = {"hot": EmitterHeat.HOT, "warm": EmitterHeat.LUKEWARM, "cold": EmitterHeat.COLD}
# What a text can want that answers no question.
_BY_ITSELF = (
    Intent.STOP,
    Intent.START,
    Intent.HELP,
    Intent.WANT_HUMAN,
    Intent.CANCEL,
    Intent.RESOLVED,
)


def read(text: str, asked: TopicId | None = None) -> Reading:
    """Read any text; ``asked`` is the question it may answer."""
    folded = fold(text)
    heard = hear(folded)
    words = words_of(folded)
    reading = _reading(text, heard, words, asked)
    if asked is not None and reading.answer is None:
        alone = _reading(text, heard, words, None)
        if alone.intent in _BY_ITSELF:
            return alone
    return reading


def _reading(text: str, heard: Heard, all_words: Words, asked: TopicId | None) -> Reading:
    told = by_rule(text, all_words, heard.told, asked)
    sums = _sums(heard, told)
    heard = listened(heard, told.words, sums)
    intent, kinds, slots = _weighed(heard, told, sums)
    # Those a danger has made sick are no people with an illness.
    care = people_in(
        told.words,
        gassed=any(danger.kind == "co" for danger in heard.dangers),
        endangered=bool(heard.dangers),
    )
    if intent in NO_KINDS:
        # A room and a child named beside no trouble are no place of it and nobody at risk from it.
        slots = replace(slots, rooms=None)
        care = {} if intent is Intent.OTHER else care
    language, language_words = language_of(text, all_words)
    degrees, home = told.parts.degrees, told.parts.home
    return Reading(
        language=language,
        language_words=language_words,
        intent=intent,
        kinds=kinds,
        danger=bool(heard.dangers),
        danger_kinds=tuple(dict.fromkeys(danger.kind for danger in heard.dangers)),
        room_temp=degrees.room,
        setpoint=degrees.setpoint,
        noise=slots.noise,
        care=tuple(care),
        emitter=slots.emitter,
        window_open=slots.window_open,
        thermostat_blank=slots.thermostat_blank,
        rooms=slots.rooms,
        answer=told.answer,
        bare=is_bare(told.words),
        place=told.parts.place,
        spans=(
            *(Span(d.start, d.end, f"danger:{d.kind}") for d in heard.dangers),
            *(_span_of_kind(kind, told, heard.dangers) for kind in kinds),
            *degrees.spans,
            *(_span_of_slot(slot, told) for slot in slots.told() if slot.field != "noise"),
            *(span for span in home.spans if span.what == OVEN),
            *(() if told.parts.place_span is None else (told.parts.place_span,)),
            *care.values(),
        ),
        oven_in_use=home.oven_in_use,
        language_wish=language_wish(told.words),
    )


def _sums(heard: Heard, told: ByRule) -> tuple[int, ...] | None:
    """What speaks for each label; of a text without words nothing does."""
    if not told.words:
        return None
    return weights().sums(
        set(spoken_in(told.words)),
        clues_of_words(told.words, heard.tokens, told.asked),
        clues_of_rules(told, taken_back=heard.taken_back),
    )


def _weighed(
    heard: Heard, told: ByRule, first: tuple[int, ...] | None
) -> tuple[Intent, tuple[Kind, ...], Slots]:
    if first is None or told.talk.is_keyword():
        return told.intent, told.kinds, slots_by_rule(told.parts.home, told.parts.trouble.noise)
    asked = told.asked is not None
    sums = once_more().sums(first, told.intent, told.kinds, asked=asked)
    certain = certain_by(told.said)
    never = told.talk.never(told.intent)
    if told.intent is Intent.COMPLAINT and not asked and not certain.isdisjoint(told.kinds):
        # "I wanted to let you know that we have no heat, thank you so much": however it is wrapped.
        never |= _NO_COMPLAINT
    intent, kinds = decided(
        sums,
        told.intent,
        told.kinds,
        danger=kinds_of_dangers(danger.kind for danger in heard.dangers),
        denied=denied_by(told.said) | (_SCARES if heard.is_only_explained else set()),
        certain=certain,
        never=never,
    )
    slots = slots_of(sums_of_slots(sums), is_noise=Kind.NOISE in kinds)
    rooms = Rooms.ALL if told.parts.home.home_is else slots.rooms
    return intent, kinds, replace(slots, emitter=_emitter(told, slots.emitter), rooms=rooms)


def _emitter(told: ByRule, weighed: EmitterHeat | None) -> EmitterHeat | None:
    """How warm the emitter is: as asked and answered, else as weighed if it is told of at all."""
    if told.asked == _HOW_HOT and told.answer is not None:
        return _ANSWERED.get(told.answer.means)
    home = told.parts.home
    told_of = home.emitter is not None or told.asked == _HOW_HOT
    return weighed if told_of or home.feels_emitter else None


def _span_of_kind(kind: Kind, told: ByRule, dangers: Sequence[Danger]) -> Span:
    """The words that tell of a kind: those of a rule, a number, a danger, else the weightiest."""
    what = f"kind:{kind.value}"
    for found, start, end in told.parts.trouble.kinds:
        if found is kind:
            return Span(start, end, what)
    if kind in (Kind.TOO_COLD, Kind.TOO_HOT) and (numbers := told.parts.degrees.spans):
        return Span(numbers[0].start, numbers[0].end, what)
    if dangers:
        return Span(dangers[0].start, dangers[0].end, what)
    return _weightiest(kind, told, what)


def _span_of_slot(slot: Slot, told: ByRule) -> Span:
    """The words that tell the value of a slot: those of a rule, else the weightiest."""
    what = name_of_span(slot)
    by_rules = (span for span in told.parts.home.spans if span.what == what)
    return next(by_rules, None) or _weightiest(slot, told, what)


def _weightiest(label: Kind | Slot, told: ByRule, what: str) -> Span:
    spoken = [word for word in told.words if word.sort is Sort.WORD] or told.words
    worth = weights()
    best = max(spoken, key=lambda word: worth.weight(word.text, label))
    return Span(best.start, best.end, what)
