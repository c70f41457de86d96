"""What households answer: the truth of the simulated world through the error rates of people."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rules.model import Answered, ApartmentId, Fact, RoomRead, TopicId

from .breakdowns import Breakdown
from .people import reach_of
from .weather import STEPS_PER_HOUR
from .world import World

__all__ = ["MINUTES", "answer_fact", "chance_of", "gives"]

Floats = NDArray[np.float64]
Chances = Mapping[str, Floats]

# topic: (share answered wrongly, share not answered), as the trade's list of questions has them.
_ERRORS = {
    "q_screen": (0.04, 0.08),
    "q_mode": (0.10, 0.20),
    "q_hot": (0.06, 0.10),
    "q_down": (0.12, 0.30),
    "q_up": (0.10, 0.25),
    "q_rooms": (0.08, 0.08),
    "q_neigh": (0.30, 0.45),
    "q_start": (0.20, 0.15),
    "q_window": (0.05, 0.15),
    "q_block": (0.25, 0.15),
    "q_dhw": (0.06, 0.08),
    "q_noise": (0.35, 0.15),
    "q_noise_when": (0.25, 0.20),
    "q_leak": (0.08, 0.05),
    "q_time": (0.20, 0.20),
    "q_heater": (0.20, 0.15),
    "q_onoff": (0.15, 0.10),
    "q_steam": (0.12, 0.15),
}
_NUMBERS = {"q_read": 0.15, "q_set": 0.15, "q_temp2": 0.60, "q_settle": 0.40}
_SWAPPED = {"q_read": 0.15, "q_set": 0.15, "q_temp2": 0.0, "q_settle": 0.0}
_SPREAD_F = {"q_read": 1.0, "q_set": 0.7, "q_temp2": 2.0, "q_settle": 3.0}
_VALUES = {
    "q_screen": ("blank", "low_battery", "normal", "no_screen"),
    "q_mode": ("heat", "off", "cool", "schedule", "hold"),
    "q_hot": ("hot", "warm", "cold"),
    "q_down": ("still_hot", "cooling"),
    "q_up": ("warms", "stays_cold"),
    "q_rooms": ("all", "one_room", "some"),
    "q_neigh": ("yes", "no"),
    "q_start": ("sudden_today", "days", "weeks", "always"),
    "q_window": ("open", "closed", "AC_sleeve"),
    "q_block": ("blocked", "clear"),
    "q_dhw": ("normal", "none", "lukewarm", "too_hot"),
    "q_noise": ("bang_single", "bang_repeat", "tick", "gurgle", "hum", "rumble", "squeal", "hiss"),
    "q_noise_when": ("start", "running", "stop", "dhw_use", "constant"),
    "q_leak": ("none", "drip", "stream"),
    "q_time": ("sun", "night", "morning", "cooking", "no_pattern"),
    "q_heater": ("oven", "heater", "none"),
    "q_onoff": ("never", "sometimes", "steady_weak"),
    "q_steam": ("one_pipe_hiss", "two_pipe", "baseboard"),
}
_WAIT = {
    "fin_tube": (30, 15),
    "steel_panel": (45, 25),
    "cast_iron": (30, 45),
    "radiant_floor": (60, 60),
}
_NOT_DONE = 0.20
_HOT_F, _WARM_F = 112.0, 88.0
MINUTES = {"q_down": 40.0, "q_up": 30.0}


@dataclass(frozen=True)
class _Asked:
    world: World
    home: int
    step: int

    @property
    def emitter(self) -> str:
        """The emitter of the home that is asked."""
        return self.world.house.plant.apartments[self.home].emitter

    def rows(self, copy: int) -> list[Breakdown]:
        """What is broken and could be noticed here, the home's own first."""
        cases = [
            c
            for c in self.world.copies[copy]
            if c.step <= self.step and (c.home is None or self.home in reach_of(self.world, c))
        ]
        cases.sort(key=lambda c: c.home is None)
        return [c.row for c in cases]


def gives(rng: np.random.Generator, topic: TopicId) -> bool:
    """Whether the household answers at all."""
    silent = _NUMBERS[topic] if topic in _NUMBERS else _ERRORS.get(topic, (0, 1.0))[1]
    return bool(rng.random() >= silent)


def answer_fact(
    rng: np.random.Generator, world: World, home: int, topic: TopicId, step: int
) -> Fact:
    """What the household of copy 0 says when it does answer."""
    asked = _Asked(world, home, step)
    apartment = ApartmentId(world.house.names[home])
    if topic in _NUMBERS:
        return _number(rng, asked, topic, apartment)
    chances = _chances(asked, topic)
    p = np.array([chances[v][0] for v in _VALUES[topic]])
    return Answered(apartment, topic, str(rng.choice(_VALUES[topic], p=p / p.sum())))


def chance_of(world: World, home: int, topic: TopicId, step: int, fact: Fact) -> Floats:
    """Chance of an answer in every copy of the world, given that one is made."""
    asked = _Asked(world, home, step)
    if isinstance(fact, Answered):
        return np.maximum(_chances(asked, topic)[fact.means], 1e-4)
    assert isinstance(fact, RoomRead)
    told = fact.set_f if topic == "q_set" else fact.room_f
    right, swapped, share = _meant(asked, topic)
    spread = _SPREAD_F[topic]
    assert told is not None

    def bell(mean: Floats) -> Floats:
        return np.exp(-0.5 * ((told - mean) / spread) ** 2) / spread

    return np.maximum((1 - share) * bell(right) + share * bell(swapped), 1e-5)


def _meant(asked: _Asked, topic: TopicId) -> tuple[Floats, Floats, float]:
    """The right number, the one it is swapped with, and how often."""
    world, step = asked.world, asked.step
    air = world.air[step, :, asked.home].astype(float)
    shown = air + world.state(step).shown[:, asked.home]
    wanted = np.full_like(air, world.house.set_f[asked.home])
    share = _SWAPPED[topic]
    if topic == "q_set":
        return wanted, shown, share
    return (shown if topic == "q_read" else air), wanted, share


def _number(
    rng: np.random.Generator, asked: _Asked, topic: TopicId, apartment: ApartmentId
) -> RoomRead:
    right, swapped, share = _meant(asked, topic)
    mean = swapped[0] if rng.random() < share else right[0]
    told = float(round(mean + rng.normal(0, _SPREAD_F[topic] * 0.6)))
    if topic == "q_set":
        return RoomRead(apartment, None, told)
    return RoomRead(apartment, told, None)


def _chances(asked: _Asked, topic: TopicId) -> Chances:
    truth = _TRUTH[topic](asked)
    error = _ERRORS[topic][0]
    if topic == "q_hot" and asked.world.house.resets:
        error = 0.12
    values = _VALUES[topic]
    return {v: (1 - error) * truth[v] + error * (1 - truth[v]) / (len(values) - 1) for v in values}


def _sure(values: Sequence[str], which: Sequence[str]) -> dict[str, Floats]:
    """One certain answer per copy."""
    return {v: np.array([float(w == v) for w in which]) for v in values}


def _by_copy(topic: str, say: Callable[[Breakdown | None], str]) -> Callable[[_Asked], Chances]:
    def truth(asked: _Asked) -> Chances:
        first = [next(iter(asked.rows(b)), None) for b in range(len(asked.world.copies))]
        return _sure(_VALUES[topic], [say(row) for row in first])

    return truth


def _hot(asked: _Asked) -> Chances:
    metal = asked.world.metal[asked.step, :, asked.home]
    which = np.where(metal > _HOT_F, "hot", np.where(metal > _WARM_F, "warm", "cold"))
    return _sure(_VALUES["q_hot"], [str(w) for w in which])


def _turned(asked: _Asked, set_f: float, minutes: float, *, feels_pipe: bool) -> Floats:
    metal, pipe = asked.world.turned(asked.step, asked.home, set_f, minutes)
    done = pipe if feels_pipe else metal
    before = (asked.world.pipe if feels_pipe else asked.world.metal)[asked.step, :, asked.home]
    hot = _NOT_DONE * (before > 100) + (1 - _NOT_DONE) * (done > 100)
    return hot.astype(float)


def _down(asked: _Asked) -> Chances:
    iron = asked.emitter == "cast_iron"
    hot = _turned(asked, 50.0, _WAIT[asked.emitter][0], feels_pipe=iron)
    return {"still_hot": hot, "cooling": 1 - hot}


def _up(asked: _Asked) -> Chances:
    set_f = float(asked.world.air[asked.step, 0, asked.home]) + 5
    hot = _turned(asked, set_f, _WAIT[asked.emitter][1], feels_pipe=True)
    return {"warms": hot, "stays_cold": 1 - hot}


def _screen(asked: _Asked) -> Chances:
    house = asked.world.house
    volts = asked.world.tested(asked.step, (), calling=True).volts[:, asked.home]
    out = {v: np.zeros(len(asked.world.copies)) for v in _VALUES["q_screen"]}
    for b in range(len(asked.world.copies)):
        told = {k: v for row in asked.rows(b)[:1] for k, v in row.screen.items()}
        if house.kind in ("trv", "series"):
            told = {"no_screen": 1.0}
        elif house.powered_stat[asked.home] and volts[b] < 0.5:
            told = {"blank": 1.0}
        for value, share in told.items():
            out[value][b] = share
        out["normal"][b] += 1 - sum(told.values())
    return out


def _neighbours(asked: _Asked) -> Chances:
    house = asked.world.house
    near = np.flatnonzero(house.beside[asked.home] > 0)
    off = asked.world.air[asked.step] - asked.world.wish_f(asked.step)
    own = np.sign(off[:, [asked.home]])
    same = (off[:, near] * own > 2.5).any(axis=1) & (np.abs(off[:, asked.home]) > 1.5)
    tap = asked.world.tap(asked.step) > 0
    yes = (same | tap).astype(float)
    return {"yes": yes, "no": 1 - yes}


def _window(asked: _Asked) -> Chances:
    air = asked.world.air[asked.step, :, asked.home]
    hot = air > asked.world.wish_f(asked.step)[:, asked.home] + 5
    open_ = np.where(hot, 0.6, 0.0)
    sleeve = np.zeros_like(open_)
    for b in range(len(asked.world.copies)):
        named = {row.window for row in asked.rows(b) if row.is_local}
        open_[b] = 1.0 if "open" in named else open_[b]
        sleeve[b] = float("AC_sleeve" in named)
    said = open_ * np.where(hot, 0.9, 0.6)
    return {"open": said, "AC_sleeve": sleeve * 0.8, "closed": 1 - said - sleeve * 0.8}


def _start(asked: _Asked) -> Chances:
    which = []
    for copy in asked.world.copies:
        able = [c for c in copy if c.home is None or asked.home in reach_of(asked.world, c)]
        able.sort(key=lambda c: c.home is None)
        row = able[0].row if able else None
        word = row.start if row else "always"
        late = able and asked.step - able[0].step > 24 * STEPS_PER_HOUR
        which.append("days" if word == "sudden_today" and late else word)
    return _sure(_VALUES["q_start"], which)


def _block(asked: _Asked) -> Chances:
    share = np.array(
        [
            max((r.block for r in asked.rows(b) if r.is_local), default=0.1)
            for b in range(len(asked.world.copies))
        ]
    )
    return {"blocked": share, "clear": 1 - share}


def _tap(asked: _Asked) -> Chances:
    words = ("normal", "none", "lukewarm", "too_hot")
    return _sure(_VALUES["q_dhw"], [words[int(t)] for t in asked.world.tap(asked.step)])


def _onoff(asked: _Asked) -> Chances:
    since = max(asked.step - 12 * STEPS_PER_HOUR, 0)
    metal = asked.world.metal[since : asked.step + 1, :, asked.home]
    share = (metal > 95).mean(axis=0)
    which = np.where(share < 0.03, "never", np.where(share > 0.9, "steady_weak", "sometimes"))
    return _sure(_VALUES["q_onoff"], [str(w) for w in which])


def _heater(asked: _Asked) -> Chances:
    off = asked.world.air[asked.step, :, asked.home] - asked.world.house.set_f[asked.home]
    heater = np.where(off < -4, 0.4, 0.03)
    oven = np.where(off < -6, 0.15, 0.0)
    return {"heater": heater, "oven": oven, "none": 1 - heater - oven}


def _noise_word(row: Breakdown | None) -> str:
    word = next(iter(row.heard), "tick") if row else "tick"
    return "bang_single" if word == "bang" else word


def _pipes(asked: _Asked) -> Chances:
    word = "baseboard" if asked.emitter == "fin_tube" else "two_pipe"
    return _sure(_VALUES["q_steam"], [word] * len(asked.world.copies))


_TRUTH: Mapping[str, Callable[[_Asked], Chances]] = {
    "q_screen": _screen,
    "q_mode": _by_copy("q_mode", lambda r: r.mode if r else "heat"),
    "q_hot": _hot,
    "q_down": _down,
    "q_up": _up,
    "q_rooms": _by_copy("q_rooms", lambda r: r.rooms if r else "all"),
    "q_neigh": _neighbours,
    "q_start": _start,
    "q_window": _window,
    "q_block": _block,
    "q_dhw": _tap,
    "q_noise": _by_copy("q_noise", _noise_word),
    "q_noise_when": _by_copy("q_noise_when", lambda r: r.when if r else "running"),
    "q_leak": _by_copy("q_leak", lambda r: "drip" if r and r.drips else "none"),
    "q_time": _by_copy("q_time", lambda r: r.time if r else "no_pattern"),
    "q_heater": _heater,
    "q_onoff": _onoff,
    "q_steam": _pipes,
}
