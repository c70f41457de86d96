"""P(answer to a question | state of the home), for evidence and for choosing the next question.

Theory of operation
-------------------
What the hand feels follows from the heat that physics computes: now, while idle (turned down) and while
calling (turned up). What only the fault itself decides (a blank screen, one room or all) stands in its
row as ``tells``; the home's own fault speaks first, then the shared ones, then what most homes answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.keys import Feature, Keys, feature, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.space import Space
from rules.heat.columns import COLUMN, merge_column
from rules.model import Answered, TopicId

__all__ = [
    "answer_chance",
    "answer_chances",
    "answer_features",
    "answer_table",
    "answer_values",
    "changes_with_time",
    "is_told",
    "told_chances",
    "unsure_chance",
]

# Where the anchors of the answer tables stand on the scale of heat from 0 to 1.
_ANCHORS = {"at_none": 0.0, "at_some": 0.15, "at_half": 0.5, "at_full": 0.9}
_TAP = ("tap_cold", "tap_lukewarm", "tap_too_hot")
# Any answer may be a slip of the thumb.
_SLIP = 0.005


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
    every = np.arange(home.shape[0])
    told = feature(home, ("told", topic), lambda: _tells_of(space, home, topic, every))
    if topic in ("q_hot", "q_down", "q_up"):
        return told, physics(home)
    if topic == "q_dhw":
        return told, feature(home, "tap", lambda: _columns(home, *_TAP))
    if topic == "q_screen":
        return told, feature(home, "no power", lambda: _columns(home, "no_power"))
    if topic == "q_neigh":
        return told, feature(home, "shared", lambda: (_is_shared(home), np.zeros(home.shape[1])))
    return (told,)


def answer_chances(
    space: Space, home: HomeClass, keys: Keys, topic: TopicId, hours: float | Floats
) -> Mapping[str, Floats]:
    """P(answer | look, own state) for every usable answer, ``hours`` after the onset.

    Arrays of shape (look keys, own keys), or (onsets, look keys, own keys) for hours of shape
    (onsets, 1, 1) if time matters.
    """
    values = answer_values(topic)
    chances = _chances(space, home, keys, topic, hours, values) if values else []
    return dict(zip(values, chances, strict=True))


def answer_table(space: Space, home: HomeClass, keys: Keys, topic: TopicId) -> Floats:
    """The same in one array for a topic with which time does not matter; (answers, look keys, own keys).

    Kept with the keys.
    """

    def compute() -> Floats:
        return np.stack(_chances(space, home, keys, topic, 0.0, answer_values(topic)))

    return keys.once(("answers", topic), compute)


def answer_chance(
    space: Space, home: HomeClass, keys: Keys, answered: Answered, hours: Floats
) -> Floats:
    """P(this answer | look, own state); (1 or onsets, look keys, own keys).

    Args:
        space: the building.
        home: class of the home.
        keys: of the home.
        answered: the answer.
        hours: since each onset; (onsets,).
    """
    topic = answered.topic
    if changes_with_time(topic):
        return _chances(space, home, keys, topic, hours[:, None, None], [answered.means])[0]
    at = answer_values(topic).index(answered.means)
    return answer_table(space, home, keys, topic)[at : at + 1]


def changes_with_time(topic: TopicId) -> bool:
    """Whether an answer depends on how long ago the fault began."""
    return topic == "q_hot"


def _chances(
    space: Space,
    home: HomeClass,
    keys: Keys,
    topic: TopicId,
    hours: float | Floats,
    wanted: Sequence[str],
) -> list[Floats]:
    values = answer_values(topic)
    if is_told(topic):
        by_look, by_own = told_chances(space, home, topic, keys.look)
        look, own = by_look[:, None, :], by_own[keys.own][None, :, :]
        told = np.where(np.isnan(own), look, own)
        return [told[:, :, values.index(value)] for value in wanted]
    usual = _usually(home, keys, topic, hours)
    look_tells, own_tells = _tells_of(space, home, topic, keys.look)
    chances = []
    for value in wanted:
        at = values.index(value)
        own, look = own_tells[keys.own, at][None, :], look_tells[:, at][:, None]
        meant = np.where(np.isnan(own), look, own)
        chances.append(_said(topic, meant, usual(value)))
    return chances


def is_told(topic: TopicId) -> bool:
    """Whether physics says nothing about a topic: faults' rows tell, or what is usual counts."""
    return topic in table("answers")["defaults"]


def told_chances(
    space: Space, home: HomeClass, topic: TopicId, looks: Indices
) -> tuple[Floats, Floats]:
    """P(answer) to a topic that physics says nothing about: by look, by own state.

    The own state decides where its row tells; it is NaN where it does not, and the look decides.
    Shapes (some looks, answers) and (own states, answers).
    """
    by_candidate, by_own, usual = home.once(
        ("told chances", topic), lambda: _told_chances(space, home, topic)
    )
    first, second = by_candidate[home.members[looks].T]
    told = np.where(np.isnan(first), second, first)
    return np.where(np.isnan(told), usual, told), by_own


def _told_chances(space: Space, home: HomeClass, topic: TopicId) -> tuple[Floats, Floats, Floats]:
    """By candidate and by own state, NaN where a row does not tell; and what is usual."""
    about = table("answers")["defaults"][topic]
    usual = np.array([float(about[v]) for v in answer_values(topic)])
    by_candidate, by_own = (
        np.where(np.isnan(tells), np.nan, _said(topic, tells, usual))
        for tells in _tells(space, home, topic)
    )
    return by_candidate, by_own, _said(topic, np.full(len(usual), np.nan), usual)


def _said(topic: TopicId, meant: Floats, usual: Floats) -> Floats:
    """Chance of an answer that a row tells, or else the usual one; some guess, any may slip."""
    guessed = float(table("answers")["guessed"].get(topic, 0.0))
    shape = np.broadcast_shapes(meant.shape, usual.shape)
    said = np.broadcast_to((1 - _SLIP) * usual, shape).copy()
    told = (1 - _SLIP) * (1 - guessed) * meant
    np.copyto(said, told + guessed * said if guessed else told, where=~np.isnan(meant))
    said += _SLIP / len(answer_values(topic))
    return said


def _usually(
    home: HomeClass, keys: Keys, topic: TopicId, hours: float | Floats
) -> Callable[[str], Floats]:
    """What is answered where no fault's row tells, by value; as ``answer_chances``.

    Raises:
        KeyError: physics says nothing about this topic.
    """
    about = table("answers").get(topic, {})
    if topic == "q_hot":
        return _interpolated(about, keys.course.emitter(hours))
    if topic == "q_down":
        return _interpolated(about, keys.course.heat.idle)
    if topic == "q_up":
        return _interpolated(about, keys.course.heat.calling)
    if topic == "q_dhw":
        return _switched(about, _tap_state(home, keys))
    if topic == "q_screen":
        dark = _merged(home, keys, "no_power") * float(home.powered_thermostat)
        return _switched(about, {"lit": 1 - dark, "dark": dark})
    if topic == "q_neigh":
        shared = np.broadcast_to(_is_shared(home)[keys.look][:, None], keys.shape)
        return _switched(about, {"alone": 1 - shared, "shared": shared})
    raise KeyError(topic)


def _interpolated(
    about: Mapping[str, Mapping[str, float]], heat: Floats
) -> Callable[[str], Floats]:
    """Between the anchors of a topic's table, by heat."""
    at = sorted((where, name) for name, where in _ANCHORS.items() if name in about)
    # How far each stretch between two anchors has been gone serves every value.
    gone = [np.clip((heat - x) / (y - x), 0.0, 1.0) for (x, _), (y, _) in pairwise(at)]

    def chance(value: str) -> Floats:
        heights = [float(about[name][value]) for _, name in at]
        steps = (part * (y - x) for part, (x, y) in zip(gone, pairwise(heights), strict=True))
        return np.asarray(sum(steps, heights[0]))

    return chance


def _switched(
    about: Mapping[str, Mapping[str, float]], weights: Mapping[str, Floats]
) -> Callable[[str], Floats]:
    return lambda value: np.asarray(sum(w * float(about[s][value]) for s, w in weights.items()))


def _columns(home: HomeClass, *names: str) -> tuple[Floats, Floats]:
    at = [COLUMN[name] for name in names]
    return home.of_rows(names, lambda rows: rows[:, at])


def _merged(home: HomeClass, keys: Keys, name: str) -> Floats:
    look_rows, own_rows = home.look_rows[home.row_of_look[keys.look]], home.own_rows[keys.own]
    return merge_column(look_rows, own_rows, name)


def _is_shared(home: HomeClass) -> Floats:
    return (home.members[:, 0] >= 0).astype(np.float64)


def _tap_state(home: HomeClass, keys: Keys) -> dict[str, Floats]:
    cold, lukewarm, hot = (_merged(home, keys, name) for name in _TAP)
    lukewarm = lukewarm * (1 - cold)
    hot = hot * (1 - cold) * (1 - lukewarm)
    fine = 1 - np.minimum(cold + lukewarm + hot, 1)
    return {"cold": cold, "lukewarm": lukewarm, "too_hot": hot, "fine": fine}


def _tells(space: Space, home: HomeClass, topic: TopicId) -> tuple[Floats, Floats]:
    """What fault rows say of this topic, NaN for nothing.

    Shapes (candidates + 1, values), the last serving member -1, and (own states, values).
    """

    def look_up() -> tuple[Floats, Floats]:
        values = answer_values(topic)
        said = [None if c.row is None else c.row.tells.get(topic) for c in space.shared]
        own = [None, *(None if c.row is None else c.row.tells.get(topic) for c in home.local)]
        by_candidate, by_own = (
            np.array([[_told(t, v, values) for v in values] for t in rows])
            for rows in ([*said, None], own)
        )
        return by_candidate, by_own

    return home.once(("tells", topic), look_up)


def _tells_of(
    space: Space, home: HomeClass, topic: TopicId, looks: Indices
) -> tuple[Floats, Floats]:
    """The same by look, where the first of its faults that tells decides: (some looks, values)."""
    by_candidate, by_own = _tells(space, home, topic)
    first, second = by_candidate[home.members[looks].T]
    return np.where(np.isnan(first), second, first), by_own


def _told(tells: Mapping[str, float] | None, value: str, values: Sequence[str]) -> float:
    """A row's chance of one answer among the usable ones; what it leaves unsaid is shared out."""
    if not tells:
        return float("nan")
    said = sum(tells.get(v, 0.0) for v in values)
    missing = sum(1 for v in values if v not in tells)
    if missing == 0:
        return float(tells[value]) / said
    left = max(1 - said, 0.0)
    return float(tells.get(value, left / missing)) / (said + left)
