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
from rules.diagnosis.space import HomeClass, Space
from rules.model import TopicId

__all__ = ["answer_chances", "answer_values", "changes_with_time", "unsure_chance"]

# Where the anchors of the answer tables stand on the scale of heat from 0 to 1.
_ANCHORS = {"at_none": 0.0, "at_some": 0.15, "at_half": 0.5, "at_full": 0.9}
# Any answer may be a slip of the thumb.
_SLIP = 0.02


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


def answer_chances(
    space: Space, home: HomeClass, topic: TopicId, hours: float
) -> Mapping[str, Floats]:
    """P(answer | look, own state) for every usable answer, ``hours`` after the onset.

    Arrays of shape (looks, own states).
    """
    values = answer_values(topic)
    if not values:
        return {}
    told = _tells(space, home, topic, values)
    guessed = float(table("answers")["guessed"].get(topic, 0.0))
    by_physics = _by_physics(home, topic, values, hours)
    chances: dict[str, Floats] = {}
    for at, value in enumerate(values):
        by_look, by_own = told[at]
        meant = np.where(np.isnan(by_own)[None, :], by_look[:, None], by_own[None, :])
        usual = by_physics[value]
        mixed = np.where(np.isnan(meant), usual, (1 - guessed) * meant + guessed * usual)
        chances[value] = (1 - _SLIP) * mixed + _SLIP / len(values)
    return chances


def changes_with_time(topic: TopicId) -> bool:
    """Whether an answer depends on how long ago the fault began."""
    return topic == "q_hot"


def _by_physics(
    home: HomeClass, topic: TopicId, values: Sequence[str], hours: float
) -> dict[str, Floats]:
    about = table("answers").get(topic, {})
    if topic == "q_hot":
        return _interpolated(about, values, home, home.course.emitter(hours))
    if topic == "q_down":
        return _interpolated(about, values, home, home.course.heat.idle)
    if topic == "q_up":
        return _interpolated(about, values, home, home.course.heat.calling)
    if topic == "q_dhw":
        return _switched(about, values, _tap_state(home))
    if topic == "q_screen":
        dark = home.columns("no_power") * float(home.powered_thermostat)
        return _switched(about, values, {"lit": 1 - dark, "dark": dark})
    if topic == "q_neigh":
        shared = np.array([[float(bool(look))] for look in home.looks])
        weight = np.broadcast_to(shared, home.shape)
        return _switched(about, values, {"alone": 1 - weight, "shared": weight})
    usual = table("answers")["defaults"][topic]
    return {v: np.array(float(usual[v])) for v in values}


def _interpolated(
    about: Mapping[str, Mapping[str, float]], values: Sequence[str], home: HomeClass, heat: Floats
) -> dict[str, Floats]:
    """Between the anchors of a topic's table, by heat over physical patterns."""
    at = sorted((where, name) for name, where in _ANCHORS.items() if name in about)
    x = [where for where, _ in at]
    return {
        v: home.spread(np.interp(heat, x, [float(about[name][v]) for _, name in at]))
        for v in values
    }


def _switched(
    about: Mapping[str, Mapping[str, float]],
    values: Sequence[str],
    weights: Mapping[str, Floats],
) -> dict[str, Floats]:
    return {v: np.asarray(sum(w * float(about[s][v]) for s, w in weights.items())) for v in values}


def _tap_state(home: HomeClass) -> dict[str, Floats]:
    cold = home.columns("tap_cold")
    lukewarm = home.columns("tap_lukewarm") * (1 - cold)
    hot = home.columns("tap_too_hot") * (1 - cold) * (1 - lukewarm)
    fine = 1 - np.minimum(cold + lukewarm + hot, 1)
    return {"cold": cold, "lukewarm": lukewarm, "too_hot": hot, "fine": fine}


def _tells(
    space: Space, home: HomeClass, topic: TopicId, values: Sequence[str]
) -> list[tuple[Floats, Floats]]:
    """What fault rows say of this topic, per value: by look and by own state, NaN for nothing."""
    key = ("tells", topic)
    if key not in home.memo:
        told = [c.row.tells.get(topic) if c.row is not None else None for c in space.shared]
        of_look = [next((told[n] for n in k if told[n]), None) for k in home.looks]
        of_own = [
            None,
            *(c.row.tells.get(topic) if c.row is not None else None for c in home.local),
        ]
        by_look = [[_told(t, value, values) for t in of_look] for value in values]
        by_own = [[_told(t, value, values) for t in of_own] for value in values]
        home.memo[key] = np.concatenate([np.array(by_look), np.array(by_own)], axis=1)
    looks = len(home.looks)
    return [(row[:looks], row[looks:]) for row in home.memo[key]]


def _told(tells: Mapping[str, float] | None, value: str, values: Sequence[str]) -> float:
    if not tells:
        return float("nan")
    if value in tells:
        return float(tells[value])
    left = 1 - sum(tells.get(v, 0.0) for v in values)
    missing = sum(1 for v in values if v not in tells)
    return max(left, 0.0) / max(missing, 1)
