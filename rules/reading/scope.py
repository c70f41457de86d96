"""Whether something said is so: here, now, and not the opposite.

Theory of operation
-------------------
A negation reaches what follows it through light words only ("not really that cold"), so that in
"can't sleep it's freezing" it does not reach "freezing". English "no" before a pronoun is an answer,
not a negation ("no it's cold"). What somebody else's home suffers is not this home's complaint unless
the teller joins in ("me and my neighbors"). A past verb makes a trouble past only where the text also
says when, and nothing says that it goes on.
"""

from __future__ import annotations

from rules.reading.line import Found, Line
from rules.reading.notation import STRONG
from rules.reading.vocabulary import vocabulary

__all__ = ["is_negated", "is_occasion", "is_of_others", "is_past"]

_FARTHEST_NEGATION = 5
_FARTHEST_NEIGHBOR = 7
# "Each time the heat goes off": what follows says when something happens, not what is wrong.
_OCCASIONS = (("cada", "vez", "que"), ("every", "time"), ("each", "time"), ("whenever",))
_FARTHEST_OCCASION = 3
_UNABLE = frozenset({"cant", "cannot", "couldnt", "can", "puedo", "podemos"})


def is_negated(line: Line, found: Found) -> bool:
    """Whether a negation, or a word for ending, stands before what was found."""
    if not line.names("NEG", "CEASE"):
        return False
    group = line.group_of(found.first)
    # "No gas, nothing, just no heat": a second negation is emphasis, not the opposite of the first.
    emphatic = line.is_a(group, "NEG")
    for before in range(group - 1, max(-1, group - 1 - _FARTHEST_NEGATION), -1):
        if line.is_break(before):
            return False
        if line.is_a(before, "CEASE"):
            # "Won't stop leaking" goes on.
            return not (before > 0 and line.is_a(before - 1, "NEG"))
        if line.is_a(before, "NEG"):
            # "Can't shower, it's cold" and "can't shower it's cold" deny no shower.
            if line.words[line.groups[before][1]].text in _UNABLE and line.is_a(group, "TAP"):
                return False
            return not emphatic and not _is_answer(line, before)
        if not line.is_a(before, "LIGHT"):
            return False
    return False


def _is_answer(line: Line, group: int) -> bool:
    word = line.groups[group][1]
    following = line.words[word + 1].text if word + 1 < len(line.words) else ""
    return line.words[word].text == "no" and following in vocabulary().after_no


def is_of_others(line: Line, found: Found) -> bool:
    """Whether the subject of the clause is a neighbor, with nobody of this home after it."""
    if not line.names("NEIGHBOR"):
        return False
    group, last = line.group_of(found.first), line.group_of(found.last)
    if any(line.is_a(inside, "SELF") for inside in range(group, last + 1)):
        return False
    for before in range(group - 1, max(-1, group - 1 - _FARTHEST_NEIGHBOR), -1):
        if line.is_break(before) or line.is_a(before, "SELF"):
            return False
        if line.is_a(before, "NEIGHBOR"):
            return not line.is_a(before + 1, "ROOM")
    after = range(last + 1, min(last + 3, len(line.groups)))
    return any(line.is_a(g, "NEIGHBOR") for g in after if not line.is_break(last + 1))


def is_past(line: Line, found: Found, *, over: bool) -> bool:
    """Whether what was found is told as past: a past verb, and a past time or an end of it."""
    if not line.names("PASTBE"):
        return False
    told = _told_with(line, found)
    if any(line.is_a(group, "STILLW") or line.is_a(group, "ATNOW") for group in told):
        return False
    long_past = any(line.is_a(group, "LONGPAST") for group in told)
    return (over or long_past) and any(line.is_a(group, "PASTBE") for group in told)


def _told_with(line: Line, found: Found) -> range:
    """The groups of the clause of what was found, and of those before it up to a turn ("but")."""
    first, turns = line.group_of(found.first), vocabulary().turns
    while first > 0 and line.marks[first - 1] != STRONG and _text(line, first - 1) not in turns:
        first -= 1
    return range(first, line.clause(found.last).stop)


def _text(line: Line, group: int) -> str:
    return line.words[line.groups[group][0]].text


def is_occasion(line: Line, found: Found) -> bool:
    """Whether what was found only says when something else happens: "each time the heat goes off"."""
    before = [word.text for word in line.words[: found.first]]
    return any(
        tuple(before[at : at + len(words)]) == words
        for words in _OCCASIONS
        for at in range(max(0, len(before) - len(words) - _FARTHEST_OCCASION), len(before))
    )
