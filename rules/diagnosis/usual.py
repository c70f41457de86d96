"""What homes answer where no fault's row tells: what the hand feels, the tap, the screen.

What the hand feels follows from the heat that physics computes: while idle (turned down) and while
calling (turned up). Asked how it is now, a home is in one of three phases: idle because the room is
warmer than what the thermostat holds, calling because it is colder, or holding it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import Feature, Keys, feature, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.tanks import has_tank, outlasts
from rules.heat.columns import COLUMN, merge_column
from rules.model import TopicId

__all__ = ["usual_features", "usually"]

# Where the anchors of the answer tables stand on the scale of heat from 0 to 1.
_ANCHORS = {"at_none": 0.0, "at_some": 0.15, "at_half": 0.5, "at_full": 0.9}
_TAP = ("tap_cold", "tap_lukewarm", "tap_too_hot")
_LATE = "tap_late"

Chance = Callable[[str], Floats]


def usual_features(home: HomeClass, topic: TopicId) -> tuple[Feature, ...]:
    """What the usual answer to a topic depends on."""
    if topic in ("q_hot", "q_down", "q_up", "q_onoff"):
        return (physics(home),)
    if topic == "q_dhw":
        return (feature(home, "tap", lambda: _columns(home, *_TAP, _LATE)),)
    if topic == "q_screen":
        return (feature(home, "no power", lambda: _columns(home, "no_power")),)
    if topic == "q_neigh":
        return (feature(home, "shared", lambda: (_is_shared(home), np.zeros(home.shape[1]))),)
    return ()


def usually(home: HomeClass, keys: Keys, topic: TopicId) -> Sequence[Chance]:
    """The chance of each value, (look keys, own keys), in each phase of heat or tank, or in all alike.

    Raises:
        KeyError: physics says nothing about this topic.
    """
    about = table("answers").get(topic, {})
    if topic == "q_hot":
        return [_interpolated(about, heat) for heat in keys.course.phases()]
    if topic == "q_down":
        return [_interpolated(about, keys.course.heat.idle)]
    if topic in ("q_up", "q_onoff"):
        return [_interpolated(about, keys.course.heat.calling)]
    if topic == "q_dhw":
        return [_switched(about, state) for state in _tap_states(home, keys)]
    if topic == "q_screen":
        dark = _merged(home, keys, "no_power") * float(home.powered_thermostat)
        return [_switched(about, {"lit": 1 - dark, "dark": dark})]
    if topic == "q_neigh":
        shared = np.broadcast_to(_is_shared(home)[keys.look][:, None], keys.shape)
        return [_switched(about, {"alone": 1 - shared, "shared": shared})]
    raise KeyError(topic)


def _interpolated(about: Mapping[str, Mapping[str, float]], heat: Floats) -> Chance:
    """Between the anchors of a topic's table, by heat."""
    at = sorted((where, name) for name, where in _ANCHORS.items() if name in about)
    # How far each stretch between two anchors has been gone serves every value.
    gone = [np.clip((heat - x) / (y - x), 0.0, 1.0) for (x, _), (y, _) in pairwise(at)]

    def chance(value: str) -> Floats:
        heights = [float(about[name][value]) for _, name in at]
        steps = (part * (y - x) for part, (x, y) in zip(gone, pairwise(heights), strict=True))
        return np.asarray(sum(steps, heights[0]))

    return chance


def _switched(about: Mapping[str, Mapping[str, float]], weights: Mapping[str, Floats]) -> Chance:
    return lambda value: np.asarray(sum(w * float(about[s][value]) for s, w in weights.items()))


def _columns(home: HomeClass, *names: str) -> tuple[Floats, Floats]:
    at = [COLUMN[name] for name in names]
    return home.of_rows(names, lambda rows: rows[:, at])


def _merged(home: HomeClass, keys: Keys, name: str) -> Floats:
    look_rows, own_rows = home.look_rows[home.row_of_look[keys.look]], home.own_rows[keys.own]
    return merge_column(look_rows, own_rows, name)


def _is_shared(home: HomeClass) -> Floats:
    return (home.members[:, 0] >= 0).astype(np.float64)


def _tap_states(home: HomeClass, keys: Keys) -> list[dict[str, Floats]]:
    """What taps give: where there is a tank that outlasts its boiler, as long as it lasts, and after."""
    cold, lukewarm, hot = (_merged(home, keys, name) for name in _TAP)
    after = _tap_state(cold, lukewarm, hot)
    if not has_tank(home):
        return [after]
    lasts = outlasts(home)[keys.look][:, None] > 0
    return [_tap_state(np.where(lasts, 0, cold), np.where(lasts, 0, lukewarm), hot), after]


def _tap_state(cold: Floats, lukewarm: Floats, hot: Floats) -> dict[str, Floats]:
    hot = hot * (1 - cold) * (1 - lukewarm)
    lukewarm = lukewarm * (1 - cold)
    fine = 1 - np.minimum(cold + lukewarm + hot, 1)
    return {"cold": cold, "lukewarm": lukewarm, "too_hot": hot, "fine": fine}
