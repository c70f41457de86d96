"""What a class of homes may answer to some topics, laid out to be weighed; made once for a class.

Theory of operation
-------------------
Chances of all answers to a topic add up to one: its last answer is not weighed, it takes what is left.
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
from rules.diagnosis.space import Space
from rules.model import TopicId

__all__ = ["Asked"]

# Topics that go by the heat of the emitter: as many keys as physics has.
_FELT = ("q_hot", "q_down", "q_up", "q_onoff")


@dataclass(frozen=True, eq=False, slots=True)
class Asked:
    """Some topics as a class of homes may be asked them; nothing of it depends on what was said.

    Weighed are no answer at all, and all answers to a topic but its last: first topics that the own
    state or else the look decides, then those that both decide together, by few keys, then those that
    go by the heat.
    """

    decided: Floats  # (own states, answers told): 0 where the look decides
    silent: Floats  # (own states, topics told): 1 where the look decides
    topic: Indices  # (answers told,): number of the topic of each
    by_look: Floats  # (look keys of few, answers told)
    seen: Sequence[Replies]
    felt: Sequence[Replies]
    few: Keys  # of what is told or seen
    many: Keys  # of what is felt
    wanted: Floats  # (own states, 1 + answers told + topics told + own keys seen)
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
        few = _keys_of(space, kind, [*by_row, *seen])
        about, replied = told(space, kind, by_row), [replies(space, kind, t) for t in seen]
        kept = np.flatnonzero(np.append(np.diff(about.topic), 1) == 0)
        decided = about.decided[:, kept]
        ones = np.ones((kind.shape[1], 1))  # that no answer comes every own state decides
        each = [np.eye(r.keys.shape[1])[r.keys.of_own] for r in replied]
        counts = {t: len(answer_values(t)) for t in topics}
        return Asked(
            decided=decided,
            silent=about.silent,
            topic=about.topic[kept],
            by_look=about.by_look(kind, few.look)[:, kept],
            seen=replied,
            felt=[replies(space, kind, t) for t in felt],
            few=few,
            many=_keys_of(space, kind, felt),
            wanted=np.hstack([ones, decided, about.silent, *each]),
            all_of=_all_of([*by_row, *seen, *felt], counts),
            choices=np.repeat([np.inf, *map(float, counts.values())], [1, *counts.values()]),
        )


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
