"""What a text adds to its report: facts, answers it gives unasked, a number by what is known."""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import Heard, answer_counts, taken_back
from rules.asking.helping import answers_in
from rules.asking.meant import number_meant, numbers_told
from rules.asking.questions import questions
from rules.model import Answered, ApartmentId, Kind, TopicId
from rules.reading import Answer
from service.store.tables import Complaint
from service.usecases.hearing.neighbors_named import neighbors_named
from service.usecases.hearing.turn import Turn
from service.usecases.rows.complaint_rows import add_facts, add_reading, facts_of, withdraw_answer
from service.usecases.rows.facts import evidence_from, known_topics

__all__ = ["take_in"]

# What a household puts right itself, finds in another state the next day, or says better: its last word
# counts.
MAY_CHANGE = frozenset(
    {"q_mode", "q_screen", "q_batteries", "q_window", "q_block", "q_up", "q_down"}
    | {"q_rooms", "q_neigh", "q_onoff", "q_leak"}
)
# What speaks of trouble only to end it, or of nothing but our texts.
ENDING = frozenset({Heard.RESOLVED, Heard.CANCEL, Heard.STOP, Heard.BACK, Heard.CODE})


# Before a check can have moved anything, its answer tells how the emitter has been all along.
EARLY = {
    (TopicId("q_up"), "stays_cold"): Answer(TopicId("q_hot"), "cold"),
    (TopicId("q_down"), "still_hot"): Answer(TopicId("q_hot"), "hot"),
}


def take_in(turn: Turn, complaint: Complaint) -> None:
    """Write down what the text says of the report; notes in the turn whether it was news."""
    reading = turn.reading
    answer = reading.answer
    if answer is not None and not (
        answer_counts(turn.conversation, answer.means) and turn.event is not Heard.LANGUAGE
    ):
        reading = replace(reading, answer=None)  # "no entiendo ingles" is not sure of nothing
        so_far = EARLY.get((answer.topic, answer.means))
        turn.volunteered += () if so_far is None else (so_far,)
    takes_back = turn.event is Heard.BACK and not turn.is_earlier
    topic = taken_back(turn.conversation) if takes_back else None
    if topic is not None:
        withdraw_answer(turn.session, turn.now, complaint, topic)
    if turn.event in ENDING and not turn.dangers:
        return
    facts = [e.fact for e in evidence_from(facts_of(turn.session, complaint))]
    told_before = set(complaint.kinds)
    kinds = {Kind(k) for k in complaint.kinds} | set(reading.kinds)
    reading = number_meant(reading, turn.conversation.current, kinds, facts)
    known = known_topics(facts)
    session, now, source = turn.session, turn.now, turn.message.id
    at = turn.said.at
    add_reading(session, now, complaint, reading, source=source, dangers=turn.dangers, at=at)
    before = answers_in(facts)
    asked = reading.answer.topic if reading.answer is not None else None
    may_change = MAY_CHANGE | {turn.corrected}
    news = [a for a in turn.volunteered if a.topic != asked and _fits(a, kinds)]
    unasked = [a for a in news if a.topic not in known or a.topic in may_change]
    home = ApartmentId(complaint.apartment or "")
    tells = complaint.building_id is not None and any(map(_is_of_others, unasked))
    named = neighbors_named(turn, (complaint.building_id or "", home), kinds) if tells else ()
    answers = [
        Answered(home, answer.topic, answer.means)
        for answer in unasked
        if not (named and _is_of_others(answer))  # it says the same, of whom it names
    ]
    add_facts(session, now, complaint, (*answers, *named), source=source, at=at)
    after = [e.fact for e in evidence_from(facts_of(session, complaint))]
    turn.told_more = (
        bool(known_topics(after) - known)
        or answers_in(after) != before
        or numbers_told(after) != numbers_told(facts)
    )
    if not turn.opened:
        turn.new_kinds = frozenset(Kind(k) for k in complaint.kinds if k not in told_before)


def _is_of_others(answer: Answer) -> bool:
    return answer.topic == "q_neigh"


def _fits(answer: Answer, kinds: set[Kind]) -> bool:
    """Whether the topic says something of what the report is about, as far as that is known."""
    return kinds <= {Kind.OTHER} or not questions()[answer.topic].told_with.isdisjoint(kinds)
