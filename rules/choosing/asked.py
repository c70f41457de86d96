"""What a class of homes may answer to some topics, laid out to be weighed; made once for a class.

Theory of operation
-------------------
Chances of all answers to a topic add up to one: its last answer is not weighed, it takes what is left.
What goes by few keys is a sum of terms, each a part by look times a part by own state: what the own
state decides alone, what the look decides where it does not, and of topics that both decide together
one term for each own key, or for each look key where those are fewer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.answers import (
    Replies,
    answer_features,
    answer_values,
    is_told,
    replies,
    told,
)
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.keys import Keys, collapse
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.physics import alike
from rules.diagnosis.space import Space
from rules.model import TopicId

__all__ = ["Asked"]

# Topics whose answer may go by how long ago the fault began: what an emitter gives, what a tank does.
_FELT = ("q_hot", "q_down", "q_up", "q_onoff", "q_dhw")


@dataclass(frozen=True, eq=False, slots=True)
class Asked:
    """Some topics as a class of homes may be asked them; nothing of it depends on what was said.

    Weighed are no answer at all, and all answers to a topic but its last: first those that go by few
    keys, then those that go by the heat.
    """

    keys: Keys  # what no topic tells apart
    by_look: Floats  # (look keys, terms)
    distinct: Floats  # (look keys, distinct parts): many terms have their part by look in common
    part: Indices  # (terms,): which of those each has
    by_own: Floats  # (own states, terms)
    first: Indices  # (no answer and answers by few keys,): first term of each
    felt: Sequence[Replies]
    of_own: Indices  # (own states,): key of what is felt
    all_of: (
        Floats  # (1 + answers, weighed): all answers in the order of the topics from those weighed
    )
    choices: Floats  # (1 + answers,): out of how many each is; infinite for no answer

    @staticmethod
    def of(space: Space, kind: HomeClass, topics: Sequence[TopicId]) -> Asked:
        """Made once for a class."""
        felt = [t for t in topics if t in _FELT]
        by_row = [t for t in topics if is_told(t)]
        seen = [t for t in topics if t not in felt and t not in by_row]
        keys = _keys_of(space, kind, topics)
        terms = [*_told(space, kind, by_row, keys.look), *_seen(space, kind, seen, keys.look)]
        looks, owns = ([part for term in terms for part in term[n]] for n in (0, 1))
        by_look = np.stack([np.ones(len(keys.look)), *looks], axis=1)
        first, part = alike(by_look.T)
        counts = {t: len(answer_values(t)) for t in topics}
        return Asked(
            keys=keys,
            by_look=by_look,
            distinct=by_look[:, first],
            part=part,
            by_own=np.stack([np.ones(kind.shape[1]), *owns], axis=1),
            first=np.cumsum([0, 1, *(len(term[0]) for term in terms)])[:-1],
            felt=[replies(space, kind, t) for t in felt],
            of_own=_keys_of(space, kind, felt).of_own,
            all_of=_all_of([*by_row, *seen, *felt], counts),
            choices=np.repeat([np.inf, *map(float, counts.values())], [1, *counts.values()]),
        )


_Terms = tuple[Sequence[Floats], Sequence[Floats]]  # parts by look key, and by own state


def _told(
    space: Space, kind: HomeClass, topics: Sequence[TopicId], looks: Indices
) -> Sequence[_Terms]:
    """Each answer but the last to topics that the own state or else the look decides."""
    about = told(space, kind, topics)
    kept = np.flatnonzero(np.append(np.diff(about.topic), 1) == 0)
    by_look, one = about.by_look(kind, looks), np.ones(len(looks))
    return [
        ((one, by_look[:, n]), (about.decided[:, n], about.silent[:, about.topic[n]])) for n in kept
    ]


def _seen(
    space: Space, kind: HomeClass, topics: Sequence[TopicId], looks: Indices
) -> Sequence[_Terms]:
    """Each answer but the last to topics that both decide together."""
    found: list[_Terms] = []
    for reply in (replies(space, kind, t) for t in topics):
        (look_keys, own_keys), tables = reply.keys.shape, reply.tables[:-1, 0]
        of_look, of_own = reply.keys.of_look[looks], reply.keys.of_own
        if own_keys <= look_keys:
            by_own = np.eye(own_keys)[:, of_own]
            found += [(tuple(answer[of_look].T), tuple(by_own)) for answer in tables]
        else:
            by_look = np.eye(look_keys)[:, of_look]
            found += [(tuple(by_look), tuple(answer[:, of_own])) for answer in tables]
    return found


def _all_of(weighed: Sequence[TopicId], counts: Mapping[TopicId, int]) -> Floats:
    """All answers from those that are weighed, topic by topic in that order; no answer comes first."""
    at = dict(zip(weighed, np.cumsum([1, *(counts[t] - 1 for t in weighed)]), strict=False))
    rows = [np.eye(1 + sum(counts[t] - 1 for t in weighed))]
    found = [rows[0][:1]]
    for topic, count in counts.items():
        mine = rows[0][at[topic] : at[topic] + count - 1]
        found += [mine, rows[0][:1] - mine.sum(axis=0)]
    return np.concatenate(found)


def _keys_of(space: Space, kind: HomeClass, topics: Sequence[TopicId]) -> Keys:
    return collapse(kind, [f for t in topics for f in answer_features(space, kind, t)])
