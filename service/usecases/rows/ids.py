"""Ids and the short form of a ticket that people can say over the phone."""

from __future__ import annotations

import secrets

__all__ = ["new_id", "reference"]

# No letters or digits that are mistaken for each other when read out: no 0/o, 1/i/l, u/v.
ALPHABET = "23456789abcdefghjkmnpqrstwxyz"
LENGTH = 12


def new_id(letter: str) -> str:
    """An id such as ``c_7f3kq…``."""
    return f"{letter}_" + "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))


def reference(ticket_id: str) -> str:
    """What people say for a ticket: T-7F3K."""
    return "T-" + ticket_id.removeprefix("t_")[:4].upper()
