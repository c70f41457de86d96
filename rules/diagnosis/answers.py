"""P(answer to a question | state of the home), for evidence and for choosing the next question.

Theory of operation
-------------------
What the home's own fault tells of an answer comes first, then what the shared faults tell (``tells``),
then what physics makes most homes answer (``usual``). The chances are tables by keys of the topic, made
once for a class of homes: where the answer depends on how long ago the fault began, one table for each
phase that the heat of a home can be in, and the hour only chooses among them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.keys import Feature, Keys, collapse, feature
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo
from rules.diagnosis.moment import Since
from rules.diagnosis.space import Space
from rules.diagnosis.tells import Told, rows_tell, said_or_usual, told_by_look, told_of
from rules.diagnosis.usual import usual_features, usually
from rules.model import TopicId

__all__ = [
    "Replies",
    "answer_features",
    "answer_values",
    "is_told",
    "replies",
    "told",
    "unsure_chance",
]

_OF_A_TANK = TopicId("q_dhw")


@dataclass(frozen=True, eq=False, slots=True)
class Replies:
    """P(answer | look, own state) to one topic, by keys of its own."""

    keys: Keys
    values: tuple[str, ...]
    # (answers, phases or 1, look keys, own keys); holding, idle, calling, or a tank that lasts, is empty
    tables: Floats
    phases: Memo = field(default_factory=lambda: Memo(2))  # by hours since each onset
    of_tank: bool = False

    @property
    def is_phased(self) -> bool:
        """Whether an answer goes by what the thermostat does, so long after the fault began."""
        return not self.of_tank and self.tables.shape[1] > 1

    def chances(
        self, since: Since, onset: Indices, looks: Indices, own: Indices, answers: int
    ) -> Floats:
        """Of the first so many answers, (answers, states), in some states of a home.

        Of each state the onset, the look and the own state.
        """
        keys, each = self.keys, self.keys.shape[0] * self.keys.shape[1]
        place = keys.of_look.take(looks) * keys.shape[1] + keys.of_own.take(own)
        if self.of_tank:
            lasts, empty = (
                self.tables[:answers, n].reshape(answers, -1).take(place, axis=1) for n in (0, 1)
            )
            return np.asarray(lasts + since.empty.take(onset) * (empty - lasts))
        if self.is_phased:
            # The phase that each state is in chooses its table.
            ways, phase = keys.ways, self.phase(since.hours)
            place += each * phase.take(onset * phase.shape[1] + ways.of_pair.take(place))
        chances: Floats = self.tables[:answers].reshape(answers, -1).take(place, axis=1)
        return chances

    def phase(self, hours: Floats) -> Indices:
        """What the thermostat does so many hours after the onset; (hours, ways)."""
        return self.phases.once(hours.tobytes(), lambda: self.keys.ways.phase(hours))

    def chance(self, value: str, since: Since) -> Floats:
        """Of one answer; (1 or onsets, look keys, own keys)."""
        by_phase = self.tables[self.values.index(value)]
        if self.of_tank:
            empty = since.empty[:, None, None]
            return np.asarray(by_phase[0] + empty * (by_phase[1] - by_phase[0]))
        if not self.is_phased:
            return np.asarray(by_phase)
        place = (self.phase(since.hours) * by_phase[0].size).take(self.keys.ways.of_pair, axis=1)
        place += np.arange(by_phase[0].size).reshape(by_phase[0].shape)
        chance: Floats = by_phase.take(place)
        return chance


def answer_values(topic: TopicId) -> tuple[str, ...]:
    """The usable answers to a topic; empty if the diagnosis draws nothing from it."""
    about = table("answers")
    if topic in about["defaults"] and topic != "unsure":
        return tuple(about["defaults"][topic])
    if topic in about:
        return tuple(next(v for v in about[topic].values() if isinstance(v, dict)))
    return ()


def unsure_chance(topic: TopicId) -> float:
    """Chance that a question brings no usable answer."""
    about = table("answers")
    return float(about.get(topic, about["defaults"])["unsure"])


def answer_features(space: Space, home: HomeClass, topic: TopicId) -> tuple[Feature, ...]:
    """What the answer to a topic depends on."""

    def tells() -> tuple[Floats, Floats]:
        by_candidate, by_own = rows_tell(space, home, topic, answer_values(topic))
        return told_by_look(home, by_candidate, np.arange(home.shape[0])), by_own

    return feature(home, ("told", topic), tells), *usual_features(home, topic)


def replies(space: Space, home: HomeClass, topic: TopicId) -> Replies:
    """What homes of a class answer to a topic that has usable answers."""

    def make() -> Replies:
        keys = collapse(home, answer_features(space, home, topic))
        values = answer_values(topic)
        if is_told(topic):
            about = told(space, home, [topic])
            look, silent = about.by_look(home, keys.look), about.silent[keys.own]
            by_look = look.T[:, :, None] * silent.T
            return Replies(keys, values, (about.decided[keys.own].T[:, None] + by_look)[:, None])
        by_candidate, by_own = rows_tell(space, home, topic, values)
        own, look = by_own[keys.own].T[:, None, None], told_by_look(home, by_candidate, keys.look)
        meant = np.where(np.isnan(own), look.T[:, None, :, None], own)
        phases = usually(home, keys, topic)
        usual = np.array([[phase(value) for phase in phases] for value in values])
        tables = said_or_usual(topic, meant, usual, len(values))
        return Replies(keys, values, tables, of_tank=topic == _OF_A_TANK and len(phases) > 1)

    return home.once(("replies", topic), make)


def is_told(topic: TopicId) -> bool:
    """Whether physics says nothing about a topic: faults' rows tell, or what is usual counts."""
    return topic in table("answers")["defaults"]


def told(space: Space, home: HomeClass, topics: Sequence[TopicId]) -> Told:
    """P(answer) to such topics, one after another."""
    about = table("answers")["defaults"]
    usual = {t: {v: float(about[t][v]) for v in answer_values(t)} for t in topics}
    return home.once(("told", tuple(topics)), lambda: told_of(space, home, usual))
