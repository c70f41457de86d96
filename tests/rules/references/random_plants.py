"""Plants and evidence drawn at random, all made up: any zoning, any parts, dates or none."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from rules.diagnosis.answers import answer_values
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Noise,
    Reported,
    RoomRead,
    TopicId,
)
from rules.plant import ComponentKind, Plant
from tests.houses import built

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
TOPICS = ("q_hot", "q_screen", "q_start", "q_dhw", "q_up")
READINGS = (
    ("sec_volts", ComponentKind.TRANSFORMER),
    ("coil_volts", ComponentKind.RELAY),
    ("pump_volts", ComponentKind.CIRCULATOR),
)
ZONINGS = ("zone_valve", "zone_valve", "zone_valve", "zone_circulator", "trv", "none")


def random_document(draw: np.random.Generator, homes: int) -> dict[str, Any]:
    """A building of so many homes on one to four loops (more in large ones), ten homes a floor."""
    loops = int(draw.integers(1, 5)) + homes // 60
    sources = int(draw.integers(1, 3))
    shares_transformer = bool(draw.random() < 0.5)

    def dated(**fields: Any) -> dict[str, Any]:
        if draw.random() < 0.5:
            fields["installed"] = f"{draw.integers(1990, 2026)}-0{draw.integers(1, 10)}"
        return fields

    zonings = draw.choice(ZONINGS, size=loops)

    def transformer(loop: int) -> str:
        return "xf-0" if shares_transformer else f"xf-{loop}"

    def home(n: int) -> dict[str, Any]:
        loop = n % loops
        made: dict[str, Any] = {
            "id": f"{n // 10 + 1}{'ABCDEFGHIJ'[n % 10]}",
            "floor": n // 10 + 1,
            "line": "ABCDEFGHIJ"[n % 10],
            "emitter": str(draw.choice(["fin_tube", "steel_panel", "cast_iron"])),
            "loop": f"loop-{loop}",
            "zoning": str(zonings[loop]),
        }
        if made["zoning"] == "zone_valve":
            kind = str(draw.choice(["motor_4wire", "motor_2wire", "heat_motor"]))
            made["valve"] = dated(kind=kind, transformer=transformer(loop))
        if made["zoning"] == "zone_circulator" and draw.random() < 0.3:
            made["circulator"] = dated()
        if made["zoning"] in ("zone_valve", "zone_circulator"):
            made["thermostat"] = dated(kind=str(draw.choice(["battery", "powered"])))
        return made

    def loop_of(n: int) -> dict[str, Any]:
        made: dict[str, Any] = {"id": f"loop-{n}", "source": f"boiler-{n % sources}"}
        if zonings[n] != "zone_circulator" or draw.random() < 0.5:
            made["circulator"] = dated(id=f"pump-{n}")
        return made | {"relay": dated(id=f"relay-{n}", transformer=transformer(n))}

    return {
        "schema": 1,
        "building": "made-up",
        "name": "1 Made-up Street",
        "timezone": "America/New_York",
        "construction": "masonry",
        "heat_sources": [
            dated(
                id=f"boiler-{n}",
                kind="hot_water_boiler",
                control=str(draw.choice(["fixed", "outdoor_reset"])),
                hot_water=str(draw.choice(["none", "indirect", "separate"])),
            )
            for n in range(sources)
        ],
        "transformers": [
            dated(id=name) for name in dict.fromkeys(transformer(n) for n in range(loops))
        ],
        "loops": [loop_of(n) for n in range(loops)],
        "apartments": [home(n) for n in range(homes)],
    }


def random_plant(draw: np.random.Generator, homes: int) -> Plant:
    """A plant of so many homes, drawn at random."""
    return built(random_document(draw, homes))


def random_people(draw: np.random.Generator, plant: Plant) -> list[Household]:
    """Most homes can write."""
    return [Household(a.id) for a in plant.apartments if draw.random() < 0.8]


def random_evidence(draw: np.random.Generator, plant: Plant, most: int = 5) -> list[Evidence]:
    """Complaints, answers, room temperatures and readings, contradicting ones among them."""
    homes = [str(a.id) for a in plant.apartments]
    picked = draw.choice(
        homes, size=min(int(draw.integers(1, most + 1)), len(homes)), replace=False
    )
    found: list[Evidence] = []
    for n, home in enumerate(picked):
        kinds = {str(draw.choice([k.value for k in Kind if k != Kind.OTHER])) for _ in range(2)}
        if draw.random() < 0.7:
            kinds = {"too_cold"}
        noise = Noise(str(draw.choice([x.value for x in Noise]))) if "noise" in kinds else None
        at = NOW - timedelta(hours=float(draw.integers(0, 40)))
        said = Reported(ApartmentId(home), frozenset(Kind(k) for k in kinds), noise)
        found.append(Evidence(f"m_{n}", at, said))
        for topic in TOPICS:
            if draw.random() < 0.3:
                means = str(draw.choice(answer_values(TopicId(topic))))
                fact = Answered(ApartmentId(home), TopicId(topic), means)
                found.append(Evidence(f"m_{n}_{topic}", NOW, fact))
        if draw.random() < 0.3:
            read = RoomRead(ApartmentId(home), float(draw.integers(50, 85)))
            found.append(Evidence(f"m_{n}_room", NOW, read))
    for check, kind in READINGS:
        if draw.random() < 0.3:
            parts = [c.id for c in plant.components.values() if c.kind is kind]
            fact = Found(
                CheckId(check),
                ComponentId(str(draw.choice(parts))),
                float(draw.choice([0, 26, 120])),
                "V",
                calling=True,
            )
            found.append(Evidence("finding:t_1", NOW, fact))
    return found


def random_weather(draw: np.random.Generator) -> list[HourlyWeather]:
    """Two steady days around now."""
    outdoor_f = float(draw.integers(0, 60))
    return [HourlyWeather(NOW + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]
