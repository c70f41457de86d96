"""Water in pipes: the heat that a flow carries, and the blow of a flow that is stopped at once.

Theory of operation
-------------------
A gallon of water weighs 8.33 lb and takes 1 Btu per pound and degree, so a flow of one gallon a minute
carries 8.33 x 60 = 500 Btu/h for every degree between supply and return. The trade sizes a loop for
20 F at full output; a reading of that difference therefore is a reading of the flow.

A flow that is stopped within the time that its pressure wave takes along the pipe and back rises in
pressure by density x speed of the wave x speed of the flow (Joukowsky 1898). A slower closing gives
only the force that slows the column down evenly (Michaud). Units are those of the trade: ft, ft/s,
psi, gpm, F, Btu/h.
"""

from __future__ import annotations

from math import sqrt

__all__ = [
    "COPPER_PSI",
    "DESIGN_DELTA_F",
    "NOISY_FT_S",
    "RELIEF_PSI",
    "delta_f",
    "flow_gpm",
    "heat_btuh",
    "surge_psi",
    "wave_speed_ft_s",
]

BTUH_PER_GPM_F = 500.0
DESIGN_DELTA_F = 20.0  # supply minus return that loops are sized for; common practice
NOISY_FT_S = 4.0  # above it water is heard in pipes of homes (value from memory of handbooks)
RELIEF_PSI = 30.0  # at which the relief valve of a small hot water boiler opens; common practice

_SLUG_PER_FT3 = 1.94032  # water, 1000 kg/m3
_IN2_PER_FT2 = 144.0
_BULK_PSI = 2.2e9 / 6894.757  # bulk modulus of water, 2.2 GPa
COPPER_PSI = 120e9 / 6894.757  # Young's modulus of copper, 120 GPa


def heat_btuh(flow_gpm: float, delta_f: float) -> float:
    """Heat that a flow of water gives off between supply and return."""
    return BTUH_PER_GPM_F * flow_gpm * delta_f


def flow_gpm(heat_btuh: float, delta_f: float) -> float:
    """The flow that carries this heat at this difference between supply and return.

    Raises:
        ValueError: without a difference no flow carries any heat.
    """
    if delta_f <= 0:
        raise ValueError("no heat is carried without a difference between supply and return")
    return heat_btuh / (BTUH_PER_GPM_F * delta_f)


def delta_f(heat_btuh: float, flow_gpm: float) -> float:
    """The difference between supply and return at which this flow carries this heat.

    Raises:
        ValueError: water that stands carries nothing.
    """
    if flow_gpm <= 0:
        raise ValueError("water that stands carries no heat")
    return heat_btuh / (BTUH_PER_GPM_F * flow_gpm)


def wave_speed_ft_s(
    bore_in: float | None = None, wall_in: float | None = None, wall_psi: float = COPPER_PSI
) -> float:
    """Speed of a pressure wave in water, in a pipe that gives way (bore, wall, Young's modulus).

    Without a pipe it is that of water between rigid walls.
    """
    rigid = sqrt(_BULK_PSI * _IN2_PER_FT2 / _SLUG_PER_FT3)
    if bore_in is None or wall_in is None:
        return rigid
    return rigid / sqrt(1 + _BULK_PSI * bore_in / (wall_psi * wall_in))


def surge_psi(
    velocity_ft_s: float,
    wave_ft_s: float,
    *,
    length_ft: float | None = None,
    closing_s: float = 0.0,
) -> float:
    """Rise of pressure when a flow is stopped.

    Args:
        velocity_ft_s: of the water before.
        wave_ft_s: speed of the pressure wave in this pipe.
        length_ft: of the pipe up to where the pressure is held (the tank).
        closing_s: time the valve takes. Longer than the wave's way there and back, and it counts.
    """
    at_once = _SLUG_PER_FT3 * wave_ft_s * velocity_ft_s / _IN2_PER_FT2
    if length_ft is None or closing_s <= 0:
        return at_once
    return min(at_once, at_once * (2 * length_ft / wave_ft_s) / closing_s)
