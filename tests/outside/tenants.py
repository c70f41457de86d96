"""People: who notices what and when, how they write, and how they answer, rightly or not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from numpy.random import Generator

from .world import STEP, World, local_hour

__all__ = ["Person", "Trouble", "answer", "felt", "first_text", "notice", "people", "reply"]

_STEP_H = STEP / timedelta(hours=1)
_CARE = {"": 0.8, "infant": 0.06, "over65": 0.08, "child": 0.03, "medical": 0.03}
# Runs of area codes in use (from memory); the rest of each number is one of 555-0100 to 555-0199, which
# nobody has.
_RUNS = (
    (205, 210),
    (212, 219),
    (301, 310),
    (312, 321),
    (404, 410),
    (412, 419),
    (501, 510),
    (512, 520),
)
_RUNS += ((601, 610), (612, 620), (701, 709), (712, 720), (801, 810), (812, 819), (901, 910))
_AREAS = tuple(code for first, last in _RUNS for code in range(first, last + 1))


@dataclass
class Person:
    """One household and its habits; ``patience`` over 1 puts up with more before writing."""

    home: int
    mobile: str
    language: str
    patience: float
    speaks_numbers: float
    in_words: float
    careless: float
    silent: float
    reply_minutes: float
    care: str


@dataclass
class Trouble:
    """What somebody will write about, and when: cold, hot, a noise, leak, gas, co, no_hot_water."""

    at: datetime
    home: int
    about: str


@cache
def _words() -> Mapping[str, Any]:
    path = Path(__file__).with_name("words.yaml")
    words: Mapping[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return words


def people(rng: Generator, homes: int, number: int) -> list[Person]:
    """One person for each home, reached at an invented number."""
    area = _AREAS[number % len(_AREAS)]
    return [
        Person(
            home=i,
            mobile=f"+1{area}55501{i:02d}",
            language=str(rng.choice(["en", "es"], p=[0.72, 0.28])),
            patience=float(rng.lognormal(0.0, 0.6)),
            speaks_numbers=float(rng.uniform(0.0, 0.7)),
            in_words=float(rng.choice([0.05, 0.6])),
            careless=float(rng.choice([0.04, 0.25], p=[0.85, 0.15])),
            silent=float(rng.choice([0.05, 0.9], p=[0.8, 0.2])),
            reply_minutes=float(rng.choice([4, 25, 150], p=[0.6, 0.3, 0.1])),
            care=str(rng.choice(list(_CARE), p=list(_CARE.values()))),
        )
        for i in range(homes)
    ]


def felt(world: World, home: int) -> float:
    """The temperature where people are bothered (a cold room counts), in F."""
    return float(world.air[home]) + world.of("room", home)


def notice(rng: Generator, world: World, person: Person, at: datetime) -> str | None:
    """What makes this person write in the coming five minutes, if anything."""
    hour, i = local_hour(at), person.home
    if not 6.5 <= hour <= 23:
        return None
    rate = _STEP_H / person.patience * (1.4 if hour > 17 else 0.8)
    for b in world.breaks:
        near = i in b.homes and (b.place == "home" or i % 3 == 0)
        if "only" in b.does and near and rng.random() < 0.03 * rate:
            return str(b.does["only"])
    off = felt(world, i) - world.set[i] - world.of("wish", i)
    if off < -2.5 and rng.random() < rate * 0.022 * (-off - 1.5) ** 1.1:
        return "cold"
    if off > 3.0 and rng.random() < rate * 0.009 * (off - 1.5):
        return "hot"
    return "no_hot_water" if _taps(world) == "none" and rng.random() < rate * 0.02 else None


def first_text(rng: Generator, world: World, person: Person, about: str) -> str:
    """The complaint in this person's words, typing slips included."""
    words, lang, i = _words(), person.language, person.home
    parts = [_pick(rng, words["about"][about][lang])]
    if about in ("cold", "hot"):
        if _screen(world, i) == "normal" and rng.random() < person.speaks_numbers:
            shown = round(float(world.shown()[i]))
            parts.append(_pick(rng, words["number"][lang]).format(t=shown))
            if rng.random() < 0.4:
                set_to = round(float(world.set[i]))
                parts.append(_pick(rng, words["setting"][lang]).format(s=set_to))
        chances = {
            _touch(world, i): 0.2,
            "one_room": 0.4 if abs(world.of("room", i)) > 1 else 0.0,
            "blank": 0.4 if _screen(world, i) == "blank" else 0.0,
            "care": 0.5 if person.care else 0.0,
            "gurgle": 0.25 if "gurgle" in _noises(world, i) else 0.0,
        }
        said = [name for name, chance in chances.items() if rng.random() < chance]
        parts += [_pick(rng, words["extra"][name][lang]) for name in said]
    return _slips(rng, _pick(rng, [" ", ", ", ". "]).join(parts))


def answer(rng: Generator, world: World, person: Person, topic: str, age: timedelta) -> list[str]:
    """What a truthful household would answer: meanings in falling order of fit, or a number.

    Args:
        rng: chance.
        world: what is true.
        person: who is asked.
        topic: of the question.
        age: of what broke suddenly.
    """
    i = person.home
    mine = [b for b in world.breaks if i in b.homes]
    makers = {"q_start": _started, "q_window": _window, "q_block": _block, "q_neigh": _neighbors}
    if topic in makers:
        return makers[topic](rng, world, i, age)
    hot, screen, noises = _touch(world, i), _screen(world, i), _noises(world, i)
    off = "cold" if hot == "cold" else "warm"
    table: Mapping[str, list[str]] = {
        "kind": ["too_cold" if felt(world, i) < world.set[i] else "too_hot"],
        "q_safety": [*(n for n in noises if n in ("gas", "co")), "none"],
        "q_vuln": ["yes" if person.care else "no"],
        "q_read": ["unknown" if screen == "blank" else _number(world.shown()[i])],
        "q_set": [_number(world.set[i])],
        "q_temp2": [_number(felt(world, i) + rng.normal(0, 1))],
        "q_settle": [_number(felt(world, i) + rng.normal(0, 2))],
        "q_screen": [screen],
        "q_mode": [*(str(b.does["mode"]) for b in mine if "mode" in b.does), "heat"],
        "q_hot": [hot],
        "q_down": ["still_hot"] if hot == "hot" else ["cooling"],
        "q_up": ["stays_cold"] if off == "cold" else ["warms"],
        "q_rooms": ["one_room"] if abs(world.of("room", i)) > 1 else ["all"],
        "q_dhw": [_taps(world)],
        "q_noise": [*noises, "bang_repeat", "bang_single"],
        "q_noise_when": ["dhw_use"] if _at_taps(mine) else ["running", "start"],
        "q_leak": ["drip" if "leak" in noises else "none"],
        "q_time": ["sun" if world.of("sun", i) else "no_pattern"],
        "q_heater": ["none"],
        "q_onoff": ["never"] if off == "cold" else ["steady_weak", "sometimes"],
        "q_steam": ["one_pipe_hiss"] if world.plant.style == "steam" else ["baseboard", "unknown"],
    }
    return table.get(topic, ["right", "yes"])


def reply(
    rng: Generator, person: Person, means: Sequence[str], choices: Sequence[Mapping[str, str]]
) -> tuple[str, bool]:
    """The text sent for an answer, and whether the offered choices had a place for it."""
    said = {choice["means"]: choice["say"] for choice in choices}
    if means[0].isdigit():
        return means[0], True
    fitting = next((m for m in means if m in said), None)
    wrong = [m for m in said if m not in (fitting, "unknown")]
    if wrong and rng.random() < person.careless:
        return said[_pick(rng, wrong)], fitting is not None
    if fitting is None:
        return said.get("unknown", "?"), means[0] == "unknown"
    if fitting in _words()["answers"] and rng.random() < person.in_words:
        return str(_words()["answers"][fitting][person.language]), True
    return said[fitting], True


def _taps(world: World) -> str:
    for b in world.breaks:
        dead = float(b.does.get("fire", 1.0)) < 0.25 and b.does.get("taps", True)
        if b.does.get("only") == "no_hot_water":
            return "none"
        if dead and world.plant.hot_water.startswith("indirect"):
            return "none"
    return "normal"


def _touch(world: World, home: int) -> str:
    if world.of("room", home) < -5:
        return "cold"
    metal = world.metal[home]
    return "hot" if metal > 118 else "warm" if metal > 92 else "cold"


def _screen(world: World, home: int) -> str:
    plant = world.plant
    if not plant.zoned:
        return "no_screen"
    blank = any(b.does.get("screen") == "blank" and home in b.homes for b in world.breaks)
    dark = plant.screen_on_24v and not world.power(plant.transformer[home])
    return "blank" if blank or dark else "normal"


def _noises(world: World, home: int) -> list[str]:
    mine = [b.does for b in world.breaks if home in b.homes]
    return [str(does[key]) for does in mine for key in ("only", "noise") if key in does]


def _at_taps(mine: Sequence[Any]) -> bool:
    return any(b.fault == "water_hammer_plumbing" for b in mine)


def _started(_: Generator, world: World, home: int, age: timedelta) -> list[str]:
    mine = [b for b in world.breaks if home in b.homes]
    work = ["after_work"] if any(b.does.get("work") for b in mine) else []
    if any(b.old for b in mine):
        return [*work, "weeks", "always"]
    return [*work, "sudden_today" if age < timedelta(hours=20) else "days"]


def _window(rng: Generator, world: World, home: int, _: timedelta) -> list[str]:
    there = any(b.does.get("window") and home in b.homes for b in world.breaks)
    return ["open" if there and rng.random() < 0.6 else "closed"]


def _block(rng: Generator, world: World, home: int, _: timedelta) -> list[str]:
    there = any(b.does.get("block") and home in b.homes for b in world.breaks)
    return ["blocked" if there and rng.random() < 0.75 else "clear"]


def _neighbors(rng: Generator, world: World, home: int, _: timedelta) -> list[str]:
    if rng.random() < 0.5:
        return ["unknown"]
    bad = [j for j in world.neighbors[home] if abs(felt(world, j) - world.set[j]) > 3]
    return ["yes" if bad else "no"]


def _number(value: float) -> str:
    return str(round(float(value)))


def _pick(rng: Generator, options: Sequence[str]) -> str:
    return options[int(rng.integers(len(options)))]


def _slips(rng: Generator, text: str) -> str:
    letters = list(text)
    for k in range(1, len(letters) - 2):
        if letters[k].isalpha() and letters[k + 1].isalpha() and rng.random() < 0.006:
            letters[k], letters[k + 1] = letters[k + 1], letters[k]
    return "".join(letters)
