"""The state of a control chain as one row of numbers, so that thousands of states are computed at once.

Theory of operation
-------------------
A healthy chain is ``HEALTHY``. A fault is a row that differs from it in a few columns. Two faults that
are there together are ``merge(a, b)``: flags add by "or", fractions of flow and output multiply,
shifts add, chances of being noticed add by noisy-or. Rows may have any leading shape; the columns are
the last axis.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "COLUMN",
    "HEALTHY",
    "PHYSICAL",
    "Rows",
    "column",
    "merge",
    "merge_column",
    "merge_each",
    "row",
]

Rows = NDArray[np.float64]

FLAGS = (
    "always_calls",
    "never_calls",
    "motor_dead",
    "valve_open",
    "valve_shut",
    "switch_open",
    "switch_closed",
    "switch_erratic",
    "relay_dead",
    "relay_welded",
    "pump_contact_open",
    "isolated_contact_open",
    "no_power",
    "power_short",
    "demand_open",
    "demand_shorted",
    "tap_cold",
    "tap_lukewarm",
    "tap_too_hot",
    "tap_late",  # a tank keeps taps hot for a while
    "leak",  # flow past a shut valve: a fraction, flags hold the largest of several
    "check_leak",  # flow while the loop's pump stands: likewise
)
FRACTIONS = ("path", "emitter", "flow", "capacity", "loss")
SHIFTS = (
    "offset_f",
    "reads_off_f",
    "gain_f",
    "water_shift_f",
    "output_lost",  # share of the plant's output that is gone: what two boilers lose adds up
)
NOTICED = (
    "cold_felt",  # although the temperature is right
    "heat_felt",
    "noise_bang",
    "noise_gurgle",
    "noise_tick",
    "noise_hum",
    "noise_hiss",
    "noise_rumble",
    "noise_other",
    "leak_seen",
    "tap_noticed",
    "gas_noticed",
    "co_noticed",
    "smoke_noticed",
    "sparks_noticed",
    "other_noticed",
)

COLUMN: Mapping[str, int] = {
    name: at for at, name in enumerate((*FLAGS, *FRACTIONS, *SHIFTS, *NOTICED))
}
_NAMES = (*COLUMN,)
_FLAG = slice(0, len(FLAGS))
_FRACTION = slice(_FLAG.stop, _FLAG.stop + len(FRACTIONS))
_SHIFT = slice(_FRACTION.stop, _FRACTION.stop + len(SHIFTS))
_NOTICED = slice(_SHIFT.stop, _SHIFT.stop + len(NOTICED))

# What decides how much heat arrives; the rest is only noticed.
PHYSICAL = [
    COLUMN[name]
    for name in (*FLAGS, *FRACTIONS, "offset_f", "gain_f", "water_shift_f", "output_lost")
    if not name.startswith("tap_")
]

HEALTHY: Rows = np.zeros(len(COLUMN))
HEALTHY[_FRACTION] = 1.0
HEALTHY.setflags(write=False)


def row(values: Mapping[str, float]) -> Rows:
    """A chain that is healthy but for the named columns.

    Raises:
        KeyError: a name is no column.
    """
    made = HEALTHY.copy()
    for name, value in values.items():
        made[COLUMN[name]] = value
    return made


def merge(first: Rows, second: Rows) -> Rows:
    """Both states at once; shapes broadcast, the last axis holds the columns."""
    shape = np.broadcast_shapes(first.shape, second.shape)
    made = np.empty(shape)
    made[..., _FLAG] = np.maximum(first[..., _FLAG], second[..., _FLAG])
    made[..., _FRACTION] = first[..., _FRACTION] * second[..., _FRACTION]
    made[..., _SHIFT] = first[..., _SHIFT] + second[..., _SHIFT]
    made[..., _NOTICED] = 1 - (1 - first[..., _NOTICED]) * (1 - second[..., _NOTICED])
    return made


def merge_each(first: Rows, second: Rows) -> Rows:
    """Every first with every second row in what decides how much heat arrives, else healthy.

    Shape (first, second, columns). The entries of a column lie side by side in memory, because
    physics goes through them column by column.
    """
    made = np.zeros((len(HEALTHY), len(first), len(second)))  # healthy in all that is only noticed
    for at in PHYSICAL:
        made[at] = merge_column(first, second, _NAMES[at])
    return np.moveaxis(made, 0, -1)


def merge_column(first: Rows, second: Rows, name: str) -> Rows:
    """One column of every first row with every second row; shape (first, second)."""
    at = COLUMN[name]
    left, right = first[:, None, at], second[None, :, at]
    if at < _FLAG.stop:
        return np.maximum(left, right)
    if at < _FRACTION.stop:
        return np.asarray(left * right)
    if at < _SHIFT.stop:
        return np.asarray(left + right)
    return np.asarray(1 - (1 - left) * (1 - right))


def column(rows: Rows, name: str) -> Rows:
    """One column of the rows, with their leading shape."""
    picked: Rows = rows[..., COLUMN[name]]
    return picked
