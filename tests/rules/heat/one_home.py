"""One home beside neighbours at 70 F, itself set to 70 F: where its temperature goes."""

from __future__ import annotations

from rules.heat.columns import Rows, column
from rules.heat.control import Delivered
from rules.heat.rooms import Climate, settle

__all__ = ["SET_F", "temperature_f"]

SET_F = 70.0


def temperature_f(rows: Rows, heat: Delivered, climate: Climate, hours: float = 48.0) -> float:
    """Its temperature after some hours, given one row of physics and the heat that it gets."""
    course = settle(
        heat,
        climate,
        set_f=SET_F,
        loss=column(rows, "loss"),
        gain_f=column(rows, "gain_f"),
        offset_f=column(rows, "offset_f"),
        neighbours_f=SET_F,
        neighbour_share=1.0,
    )
    return float(course.room_f(hours)[0])
