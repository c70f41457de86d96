"""A few days of made-up weather: season, fronts that pass, and the swing of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from rules.model import HourlyWeather

__all__ = ["STEPS_PER_HOUR", "Days", "random_days"]

STEPS_PER_HOUR = 4
# Mean outdoor temperature by month, F, of a cold coastal city (value from memory).
_MONTH_F = {10: 57, 11: 47, 12: 38, 1: 33, 2: 35, 3: 42, 4: 53, 5: 60}
_FRONT_F, _FRONT_HOURS, _SWING_F = 8.0, 36.0, 7.0
_UTC_OFFSET_HOURS = 5  # New York in winter; an hour off in summer time does not matter here


@dataclass(frozen=True)
class Days:
    """Outdoor temperature by quarter hour from a start; ``sun`` is 1 at a bright noon."""

    start: datetime
    outdoor_f: np.ndarray
    sun: np.ndarray

    def at(self, step: int) -> datetime:
        """The instant of a step."""
        return self.start + timedelta(minutes=60 / STEPS_PER_HOUR * step)

    def hour(self, step: int) -> float:
        """Local hour of the day of a step."""
        instant = self.at(step) - timedelta(hours=_UTC_OFFSET_HOURS)
        return instant.hour + instant.minute / 60

    @property
    def steps(self) -> int:
        """How many quarter hours there are."""
        return len(self.outdoor_f)

    def hourly(self) -> list[HourlyWeather]:
        """The same as the service would store it."""
        return [
            HourlyWeather(self.at(s), round(float(self.outdoor_f[s]), 1))
            for s in range(0, self.steps, STEPS_PER_HOUR)
        ]


def random_days(rng: np.random.Generator, hours: int) -> Days:
    """A stretch of the heating season."""
    month = int(rng.choice(list(_MONTH_F), p=[0.1, 0.14, 0.17, 0.19, 0.17, 0.12, 0.08, 0.03]))
    year = 2026 if month >= 10 else 2027
    start = datetime(year, month, int(rng.integers(1, 26)), int(rng.integers(0, 24)), tzinfo=UTC)
    steps = hours * STEPS_PER_HOUR
    keeps = float(np.exp(-1 / (_FRONT_HOURS * STEPS_PER_HOUR)))
    front = np.empty(steps)
    front[0] = rng.normal(0, _FRONT_F)
    noise = rng.normal(0, _FRONT_F * np.sqrt(1 - keeps**2), steps)
    for s in range(1, steps):
        front[s] = keeps * front[s - 1] + noise[s]
    local = (start.hour - _UTC_OFFSET_HOURS + np.arange(steps) / STEPS_PER_HOUR) % 24
    swing = _SWING_F * np.cos((local - 15) / 24 * 2 * np.pi)
    clear = rng.random() < 0.5
    sun = np.clip(np.sin((local - 8) / 8 * np.pi), 0, 1) * ((local > 8) & (local < 16)) * clear
    return Days(start, _MONTH_F[month] + front + swing, sun)
