"""The kinds of people and programs that may come in."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Role"]


class Role(StrEnum):
    """What a token, a link or a session stands for."""

    GATEWAY = "gateway"  # delivers texts
    DESK = "desk"  # takes calls, watches the queue
    TRUCK = "truck"  # the technician
    OWNER = "owner"  # keeps buildings, households and weather
    ADMIN = "admin"  # keeps accounts, reads the audit log, and may do what the desk does
