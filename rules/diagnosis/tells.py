"""What the rows of faults say about answers: a blank screen, one room or all, since when.

A home's own fault speaks first, then the shared ones; where none tells, what most homes answer counts.
Some people guess at such a question, and any answer may be a slip of the thumb.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.space import Space
from rules.model import TopicId

__all__ = ["Told", "rows_tell", "said_or_usual", "told_by_look", "told_of"]

# Any answer may be a slip of the thumb.
_SLIP = 0.005


def rows_tell(
    space: Space, home: HomeClass, topic: TopicId, values: Sequence[str]
) -> tuple[Floats, Floats]:
    """What fault rows say of this topic, NaN for nothing and for candidates that no look has.

    Shapes (candidates + 1, values), the last serving member -1, and (own states, values).
    """

    def look_up() -> tuple[Floats, Floats]:
        by_candidate = np.full((len(space.shared) + 1, len(values)), np.nan)
        by_own = np.full((home.shape[1], len(values)), np.nan)
        reaching = np.unique(home.members[home.members >= 0]).tolist()
        shared = ((by_candidate[n], space.shared[n]) for n in reaching)
        for told, candidate in (*shared, *zip(by_own[1:], home.local, strict=True)):
            if candidate.row is not None and (tells := candidate.row.tells.get(topic)):
                told[:] = [_told(tells, value, values) for value in values]
        return by_candidate, by_own

    return home.once(("tells", topic), look_up)


def told_by_look(home: HomeClass, by_candidate: Floats, looks: Indices) -> Floats:
    """The first fault of each of some looks that tells decides; (looks, values)."""
    first, second = by_candidate[home.members[looks].T]
    told: Floats = np.where(np.isnan(first), second, first)
    return told


@dataclass(frozen=True, eq=False, slots=True)
class Told:
    """P(answer) to topics that physics says nothing about; their answers stand side by side.

    A row tells of all answers to a topic or of none.
    """

    by_candidate: Floats  # (candidates + 1, answers), NaN where its row does not tell
    decided: Floats  # (own states, answers): 0 where its row does not tell, and the look decides
    silent: Floats  # (own states, topics): 1 where its row does not tell
    usual: Floats  # (answers,): where no row tells
    topic: Indices  # (answers,): number of the topic of each

    def by_look(self, home: HomeClass, looks: Indices) -> Floats:
        """Of some looks; (looks, answers)."""
        told = told_by_look(home, self.by_candidate, looks)
        by_look: Floats = np.where(np.isnan(told), self.usual, told)
        return by_look


def told_of(space: Space, home: HomeClass, usual: Mapping[TopicId, Mapping[str, float]]) -> Told:
    """The same for some topics; ``usual`` is what most homes answer to each, by value."""
    by_candidate, by_own = [np.zeros((len(space.shared) + 1, 0))], [np.zeros((home.shape[1], 0))]
    mostly = [np.zeros(0)]
    for topic, about in usual.items():
        chances, choices = np.array([*about.values()]), len(about)
        for found, tells in zip(
            (by_candidate, by_own), rows_tell(space, home, topic, [*about]), strict=True
        ):
            told = said_or_usual(topic, tells, chances, choices)
            found.append(np.where(np.isnan(tells), np.nan, told))
        mostly.append(said_or_usual(topic, np.full(choices, np.nan), chances, choices))
    own, counts = np.hstack(by_own), [len(about) for about in usual.values()]
    first = np.cumsum([0, *counts])[:-1].astype(np.intp)
    return Told(
        by_candidate=np.hstack(by_candidate),
        decided=np.where(np.isnan(own), 0.0, own),
        silent=np.isnan(own[:, first]).astype(np.float64),
        usual=np.hstack(mostly),
        topic=np.repeat(np.arange(len(counts)), counts),
    )


def said_or_usual(topic: TopicId, meant: Floats, usual: Floats, choices: int) -> Floats:
    """Chance of an answer that a row tells, or else the usual one; some guess, any may slip.

    Of topics with answers that are taken for each other the last axis holds all answers.
    """
    guessed = float(table("answers")["guessed"].get(topic, 0.0))
    mostly = (1 - _SLIP) * usual
    told = (1 - _SLIP) * (1 - guessed) * meant + guessed * _instead(topic, meant, mostly)
    return np.where(np.isnan(meant), mostly, told) + _SLIP / choices


def _instead(topic: TopicId, meant: Floats, mostly: Floats) -> Floats:
    """What is answered by guess: what most homes say, or what is like the truth."""
    about = table("answers")["taken_for"].get(topic)
    if about is None:
        return mostly
    values, share = [*table("answers")["defaults"][topic]], float(about["share"])
    likes = np.array([[(v in about["like"][t]) for v in values] for t in values], dtype=float)
    likes /= likes.sum(axis=1, keepdims=True)
    return np.asarray((1 - share) * mostly + share * (1 - _SLIP) * (meant @ likes))


def _told(tells: Mapping[str, float], value: str, values: Sequence[str]) -> float:
    """A row's chance of one answer among the usable ones; what it leaves unsaid is shared out."""
    said = sum(tells.get(v, 0.0) for v in values)
    missing = sum(1 for v in values if v not in tells)
    if missing == 0:
        return float(tells[value]) / said
    left = max(1 - said, 0.0)
    return float(tells.get(value, left / missing)) / (said + left)
