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

__all__ = ["answer_chances", "answer_values", "unsure_chance"]

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
    by_physics = _by_physics(home, topic, values, hours)
    guessed = float(table("answers")["guessed"].get(topic, 0.0))
    meant = {v: (1 - guessed) * told[v] + guessed * by_physics[v] for v in values}
    chances = {v: np.where(np.isnan(told[v]), by_physics[v], meant[v]) for v in values}
    return {v: (1 - _SLIP) * c + _SLIP / len(values) for v, c in chances.items()}


def _by_physics(
    home: HomeClass, topic: TopicId, values: Sequence[str], hours: float
) -> dict[str, Floats]:
    about = table("answers").get(topic, {})
    if topic == "q_hot":
        return _interpolated(about, values, home.spread(home.course.emitter(hours)))
    if topic == "q_down":
        return _interpolated(about, values, home.spread(home.course.heat.idle))
    if topic == "q_up":
        return _interpolated(about, values, home.spread(home.course.heat.calling))
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
    return {v: np.full(home.shape, float(usual[v])) for v in values}


def _interpolated(
    about: Mapping[str, Mapping[str, float]], values: Sequence[str], heat: Floats
) -> dict[str, Floats]:
    at = sorted((where, name) for name, where in _ANCHORS.items() if name in about)
    x = [where for where, _ in at]
    return {v: np.interp(heat, x, [float(about[name][v]) for _, name in at]) for v in values}


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
) -> dict[str, Floats]:
    """What fault rows say of this topic; NaN where they say nothing. What is left is spread evenly."""
    own = [None, *(c.row for c in home.local)]
    shared = [c.row for c in space.shared]
    local_told = [r.tells.get(topic) if r is not None else None for r in own]
    shared_told = [r.tells.get(topic) if r is not None else None for r in shared]
    look_told = [next((shared_told[n] for n in k if shared_told[n]), None) for k in home.looks]
    result: dict[str, Floats] = {}
    for value in values:
        by_own = np.array([_told(t, value, values) for t in local_told])
        by_look = np.array([_told(t, value, values) for t in look_told])
        result[value] = np.where(np.isnan(by_own)[None, :], by_look[:, None], by_own[None, :])
    return result


def _told(tells: Mapping[str, float] | None, value: str, values: Sequence[str]) -> float:
    if not tells:
        return float("nan")
    if value in tells:
        return float(tells[value])
    left = 1 - sum(tells.get(v, 0.0) for v in values)
    missing = sum(1 for v in values if v not in tells)
    return max(left, 0.0) / max(missing, 1)
