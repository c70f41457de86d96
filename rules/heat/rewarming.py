"""How long a home takes to be warm again once its heat is back."""

from __future__ import annotations

__all__ = ["rewarming_hours"]

# Water and radiators first, then some two degrees F an hour; whose room nobody has read is taken to have
# lost six; and nobody is asked to wait through a night (common practice, no source).
_BEGINS_HOURS = 1.0
_F_AN_HOUR = 2.0
_WARM_F = 68.0
_UNREAD_F = 62.0
_LONGEST_HOURS = 8.0


def rewarming_hours(room_f: float | None) -> float:
    """Hours from the repair until who was cold should be warm, at least one.

    Args:
        room_f: the room's temperature as told, None where nobody has read it.
    """
    missing_f = max(_WARM_F - (_UNREAD_F if room_f is None else room_f), 0.0)
    return min(_BEGINS_HOURS + missing_f / _F_AN_HOUR, _LONGEST_HOURS)
