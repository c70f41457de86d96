"""Twelve homes, one thing broken, and the people who write about it.

The stories are written from what the trade says about each fault (common practice, no source): which
homes notice, what they feel, and what they would see if somebody asked. Nothing here knows how the
service thinks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

FLOORS, LINES = (1, 2, 3, 4), "ABC"
HOMES = tuple(f"{floor}{line}" for floor in FLOORS for line in LINES)


@dataclass(frozen=True)
class Writer:
    """A household that writes: when, through which door, in which words."""

    home: str
    words: str
    after_minutes: int = 0
    door: str = "http"
    speaks: str = "en"  # answers in words of this language; "" answers with numbers
    answers: bool = True  # else never writes again


@dataclass(frozen=True)
class Story:
    """One fault of one component and what people see of it."""

    fault: str
    component: str
    writers: tuple[Writer, ...]
    truth: Mapping[str, str]
    degrees: tuple[int, int] = (61, 70)  # what the thermostat shows, what it is set to
    outdoor_f: float = 20.0
    among: int = 3  # so many components are suspected first, it is one of them


COLD_ALONE = {
    "q_hot": "cold",
    "q_up": "stays_cold",
    "q_down": "cooling",
    "q_screen": "normal",
    "q_mode": "heat",
    "q_rooms": "all",
    "q_neigh": "no",
    "q_start": "sudden_today",
    "q_window": "closed",
    "q_block": "clear",
    "q_dhw": "normal",
    "q_onoff": "never",
    "q_heater": "none",
    "q_time": "no_pattern",
    "q_leak": "none",
    "q_noise": "hum",
    "q_noise_when": "running",
    "q_steam": "baseboard",
    "q_vuln": "no",
    "q_safety": "none",
}
COLD_TOGETHER = COLD_ALONE | {"q_neigh": "yes"}
HOT_ALONE = COLD_ALONE | {
    "q_hot": "hot",
    "q_up": "warms",
    "q_down": "still_hot",
    "q_onoff": "steady_weak",
    "q_window": "open",
}

# The same answer in somebody's own words.
OWN_WORDS: Mapping[tuple[str, str], Mapping[str, str]] = {
    ("q_hot", "hot"): {"en": "its very hot", "es": "está muy caliente"},
    ("q_hot", "cold"): {"en": "stone cold", "es": "está frío"},
    ("q_hot", "warm"): {"en": "just warm", "es": "tibio"},
    ("q_up", "stays_cold"): {"en": "nope still cold", "es": "sigue frío"},
    ("q_up", "warms"): {"en": "yes it is getting warm", "es": "ya se calienta"},
    ("q_down", "still_hot"): {"en": "yes still hot", "es": "sigue caliente"},
    ("q_down", "cooling"): {"en": "it is cooling down", "es": "se está enfriando"},
    ("q_screen", "normal"): {"en": "the screen looks normal", "es": "la pantalla está normal"},
    ("q_screen", "blank"): {"en": "the screen is blank", "es": "la pantalla está apagada"},
    ("q_neigh", "yes"): {"en": "yes they have it too", "es": "sí, los vecinos también"},
    ("q_neigh", "no"): {"en": "no just me", "es": "no, solo yo"},
    ("q_dhw", "normal"): {"en": "hot water is fine", "es": "el agua caliente está bien"},
    ("q_dhw", "none"): {"en": "there is no hot water", "es": "no hay agua caliente"},
    ("q_rooms", "all"): {"en": "the whole apartment", "es": "todo el apartamento"},
    ("q_rooms", "one_room"): {"en": "only one room", "es": "un solo cuarto"},
    ("q_start", "sudden_today"): {"en": "it started today", "es": "empezó hoy"},
    ("q_onoff", "never"): {"en": "never any heat", "es": "nunca"},
    ("q_window", "closed"): {"en": "windows are closed", "es": "todo cerrado"},
    ("q_window", "open"): {"en": "yes a window is open", "es": "sí, abierta"},
    ("q_mode", "heat"): {"en": "it says heat", "es": "dice heat"},
}


def number_of(index: int) -> str:
    """A mobile number from the range reserved for fiction."""
    return f"+121255501{index:02d}"


def building(name: str) -> dict[str, Any]:
    """Four floors of three homes; floors 1 and 2 hang on loop 1, floors 3 and 4 on loop 2."""
    return {
        "schema": 1,
        "building": name,
        "name": f"{name.split('-')[1]} Mill Lane",
        "timezone": "America/New_York",
        "heat_rule": "us-ny-nyc",
        "weather_station": f"k{name}",
        "built": 1948,
        "construction": "masonry",
        "design_outdoor_f": 13,
        "heat_sources": [
            {
                "id": "boiler-1",
                "kind": "hot_water_boiler",
                "output_btuh": 300000,
                "control": "fixed",
                "hot_water": "indirect_priority",
                "installed": "2011-09",
            }
        ],
        "transformers": [
            {"id": "xf-1", "va": 75, "installed": "2011-09"},
            {"id": "xf-2", "va": 75, "installed": "2011-09"},
        ],
        "loops": [
            {
                "id": f"loop-{n}",
                "source": "boiler-1",
                "circulator": {"id": f"pump-{n}", "installed": "2014-10"},
                "relay": {"id": f"relay-{n}", "transformer": f"xf-{n}", "installed": "2011-09"},
            }
            for n in (1, 2)
        ],
        "apartments": [_home(f"{floor}{line}") for floor in FLOORS for line in LINES],
    }


def _home(name: str) -> dict[str, Any]:
    side = 1 if int(name[0]) < 3 else 2
    return {
        "id": name,
        "floor": int(name[0]),
        "line": name[1],
        "emitter": "fin_tube",
        "loop": f"loop-{side}",
        "zoning": "zone_valve",
        "valve": {
            "id": f"{name}.valve",
            "kind": "motor_4wire",
            "transformer": f"xf-{side}",
            "va": 7.0,
            "installed": "2013-03",
        },
        "thermostat": {"id": f"{name}.thermostat", "kind": "battery", "installed": "2017-11"},
    }


def households(name: str, first_number: int) -> list[dict[str, Any]]:
    """A household in each home."""
    return [
        {
            "building": name,
            "apartment": home,
            "name": f"Household {home}",
            "mobile": number_of(first_number + i),
            "email": "",
            "language": "es" if home.endswith("C") else "en",
            "care": ["over65"] if home == "4A" else [],
        }
        for i, home in enumerate(HOMES)
    ]


def answer_to(story: Story, writer: Writer, asks: dict[str, Any]) -> str:
    """What this household says to a question: its number, or its own words for the same."""
    topic = asks["topic"]
    numbers = {"q_read": story.degrees[0], "q_temp2": story.degrees[0], "q_set": story.degrees[1]}
    if topic in numbers:
        return str(numbers[topic])
    wanted = story.truth.get(topic, "unknown")
    words = OWN_WORDS.get((topic, wanted), {}).get(writer.speaks)
    if words is not None:
        return words
    says = {c["means"]: c["say"] for c in asks["choices"]}
    return str(says.get(wanted, says.get("unknown", "0")))


STORIES: tuple[Story, ...] = (
    Story(
        "valve_open_switch_made",
        "2B.valve",
        (Writer("2B", "its 81 in here and the thermostat is set to 68, windows wide open"),),
        HOT_ALONE,
        (81, 68),
        40.0,
    ),
    Story(
        "valve_motor_dead",
        "3A.valve",
        (Writer("3A", "apartment is freezing, radiators ice cold since yesterday", door="smtp"),),
        COLD_ALONE,
    ),
    Story(
        "stat_batteries_dead",
        "1C.thermostat",
        (Writer("1C", "no tengo calefaccion y hace mucho frio aqui", speaks="es"),),
        COLD_ALONE | {"q_screen": "blank"},
        (60, 70),
    ),
    Story(
        "stat_stuck_calling",
        "4B.thermostat",
        (Writer("4B", "heat wont shut off, we are roasting, 79 degrees", speaks=""),),
        HOT_ALONE,
        (79, 67),
        40.0,
    ),
    Story(
        "emitter_covered",
        "2C",
        (Writer("2C", "el cuarto de mi hija está frío, los demás cuartos bien", speaks="es"),),
        COLD_ALONE
        | {
            "q_rooms": "one_room",
            "q_block": "blocked",
            "q_hot": "hot",
            "q_up": "warms",
            "q_onoff": "steady_weak",
            "q_start": "weeks",
        },
        (65, 70),
    ),
    Story(
        "transformer_dead",
        "xf-2",
        (
            Writer("3A", "no heat at all tonight"),
            Writer("3C", "Buenas noches, la calefacción no funciona", 15, "smtp", "es"),
            Writer("4A", "radiators cold. I am 78 years old", 30, answers=False),
            Writer("4B", "heat is out, 60 degrees", 45, "smtp", answers=False),
        ),
        COLD_TOGETHER,
    ),
    Story(
        "relay_coil_dead",
        "relay-1",
        (
            Writer("1A", "heat not working, thermostat says heat on but baseboards cold"),
            Writer("1B", "its cold in here, 62", 15, "smtp", answers=False),
            Writer("2C", "hace frío, no calienta nada", 30, answers=False),
            Writer("2A", "no heat", 45, "smtp", answers=False),
        ),
        COLD_TOGETHER,
        # Within the hour pump, transformer, and a boiler whose tank still lasts are all likelier.
        among=4,
    ),
    Story(
        "pump_seized",
        "pump-1",
        (
            Writer("1A", "no heat since 5pm", answers=False),
            Writer("1C", "estamos sin calefaccion", 15, "http", "es"),
            Writer("2B", "apt is really cold, pipes cold too", 15, "smtp", ""),
            Writer("2A", "freezing!!", 30, answers=False),
        ),
        COLD_TOGETHER,
    ),
    Story(
        "boiler_lockout",
        "boiler-1",
        (
            Writer("1B", "no heat and no hot water", answers=False),
            Writer("2A", "heat is off in the whole apt", 15, answers=False),
            Writer("3C", "no hay calefacción ni agua caliente", 15, "smtp", "es"),
            Writer("4A", "its freezing and the shower is cold", 30, answers=False),
        ),
        COLD_TOGETHER | {"q_dhw": "none"},
    ),
    Story(
        "aquastat_low",
        "boiler-1",
        (
            Writer("1A", "radiators barely warm, 65 in here and it's 10 outside"),
            Writer("3B", "not warm enough, 64", 15, answers=False),
            Writer("4C", "los radiadores apenas tibios, 64 grados", 30, answers=False),
        ),
        COLD_TOGETHER
        | {"q_hot": "warm", "q_up": "warms", "q_onoff": "steady_weak", "q_start": "days"},
        (64, 70),
        10.0,
    ),
)
OF_ONE_HOME = tuple(s for s in STORIES if len(s.writers) == 1)
OF_SEVERAL_HOMES = tuple(s for s in STORIES if len(s.writers) > 1)
