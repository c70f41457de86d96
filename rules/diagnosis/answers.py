"""P(answer to a question | state of the home), for evidence and for choosing the next question.

Theory of operation
-------------------
What the hand feels follows from the heat that physics computes: now, while idle (turned down) and while
calling (turned up). What only the fault itself decides (a blank screen, one room or all) stands in its
row as ``tells``; the home's own fault speaks first, then the shared ones, then what most homes answer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import Feature, Keys, feature, physics
from rules.diagnosis.space import HomeClass, Space
from rules.heat.columns import COLUMN, merge_column
from rules.model import TopicId

__all__ = [
    "answer_chances",
    "answer_features",
    "answer_values",
    "changes_with_time",
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
    told = _told_feature(space, home, topic)
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
    space: Space, home: HomeClass, keys: Keys, topic: TopicId, hours: float
) -> Mapping[str, Floats]:
    """P(answer | look, own state) for every usable answer, ``hours`` after the onset.

    Arrays of shape (look keys, own keys).
    """
    values = answer_values(topic)
    if not values:
        return {}
    by_look, by_own = _tells(space, home, topic)
    guessed = float(table("answers")["guessed"].get(topic, 0.0))
    by_physics = _by_physics(home, keys, topic, values, hours)
    chances: dict[str, Floats] = {}
    for at, value in enumerate(values):
        own, look = by_own[keys.own, at][None, :], by_look[keys.look, at][:, None]
        meant = np.where(np.isnan(own), look, own)
        usual = by_physics[value]
        mixed = np.where(np.isnan(meant), usual, (1 - guessed) * meant + guessed * usual)
        chances[value] = (1 - _SLIP) * mixed + _SLIP / len(values)
    return chances


def changes_with_time(topic: TopicId) -> bool:
    """Whether an answer depends on how long ago the fault began."""
    return topic == "q_hot"


def _by_physics(
    home: HomeClass, keys: Keys, topic: TopicId, values: Sequence[str], hours: float
) -> dict[str, Floats]:
    about = table("answers").get(topic, {})
    if topic == "q_hot":
        return _interpolated(about, values, home.course.only(keys.cells).emitter(hours))
    if topic == "q_down":
        return _interpolated(about, values, home.course.heat.idle[keys.cells])
    if topic == "q_up":
        return _interpolated(about, values, home.course.heat.calling[keys.cells])
    if topic == "q_dhw":
        return _switched(about, values, _tap_state(home, keys))
    if topic == "q_screen":
        dark = _merged(home, keys, "no_power") * float(home.powered_thermostat)
        return _switched(about, values, {"lit": 1 - dark, "dark": dark})
    if topic == "q_neigh":
        shared = np.broadcast_to(_is_shared(home)[keys.look][:, None], keys.shape)
        return _switched(about, values, {"alone": 1 - shared, "shared": shared})
    usual = table("answers")["defaults"][topic]
    return {v: np.array(float(usual[v])) for v in values}


def _interpolated(
    about: Mapping[str, Mapping[str, float]], values: Sequence[str], heat: Floats
) -> dict[str, Floats]:
    """Between the anchors of a topic's table, by heat."""
    at = sorted((where, name) for name, where in _ANCHORS.items() if name in about)
    x = [where for where, _ in at]
    return {v: np.interp(heat, x, [float(about[name][v]) for _, name in at]) for v in values}


def _switched(
    about: Mapping[str, Mapping[str, float]],
    values: Sequence[str],
    weights: Mapping[str, Floats],
) -> dict[str, Floats]:
    return {v: np.asarray(sum(w * float(about[s][v]) for s, w in weights.items())) for v in values}


def _columns(home: HomeClass, *names: str) -> tuple[Floats, Floats]:
    at = [COLUMN[name] for name in names]
    return home.look_rows[:, at], home.own_rows[:, at]


def _merged(home: HomeClass, keys: Keys, name: str) -> Floats:
    return merge_column(home.look_rows[keys.look], home.own_rows[keys.own], name)


def _is_shared(home: HomeClass) -> Floats:
    return (home.members[:, 0] >= 0).astype(np.float64)


def _tap_state(home: HomeClass, keys: Keys) -> dict[str, Floats]:
    cold, lukewarm, hot = (_merged(home, keys, name) for name in _TAP)
    lukewarm = lukewarm * (1 - cold)
    hot = hot * (1 - cold) * (1 - lukewarm)
    fine = 1 - np.minimum(cold + lukewarm + hot, 1)
    return {"cold": cold, "lukewarm": lukewarm, "too_hot": hot, "fine": fine}


def _told_feature(space: Space, home: HomeClass, topic: TopicId) -> Feature:
    return feature(home, ("told", topic), lambda: _tells(space, home, topic))


def _tells(space: Space, home: HomeClass, topic: TopicId) -> tuple[Floats, Floats]:
    """What fault rows say of this topic: (looks, values) and (own states, values), NaN for nothing."""

    def look_up() -> tuple[Floats, Floats]:
        values = answer_values(topic)
        said = [None if c.row is None else c.row.tells.get(topic) for c in space.shared]
        by_candidate = np.array([[_told(t, v, values) for v in values] for t in (*said, None)])
        own = [None, *(None if c.row is None else c.row.tells.get(topic) for c in home.local)]
        first, second = by_candidate[home.members[:, 0]], by_candidate[home.members[:, 1]]
        by_look = np.where(np.isnan(first), second, first)
        return by_look, np.array([[_told(t, v, values) for v in values] for t in own])

    return home.once(("tells", topic), look_up)


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
