"""Who did it: what stands beside an act in histories and in the audit log."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from service.auth.roles import Role

__all__ = ["COMMAND_LINE", "Who", "by_link", "by_token"]


@dataclass(frozen=True, slots=True)
class Who:
    """A person or program that is let in."""

    account: str  # the account's login, "link:<role>" or "token:<role>:<number>"
    role: Role
    name: str  # what colleagues read

    @property
    def keeper(self) -> str:
        """A word that differs from person to person: whose what a phone keeps is, without a name."""
        return hashlib.sha256(f"keeper {self.account}".encode()).hexdigest()[:16]


def by_link(role: Role) -> Who:
    """Whoever signed in with a link that works once."""
    return Who(f"link:{role.value}", role, role.value.capitalize())


def by_token(role: Role, number: int) -> Who:
    """A program with a bearer token; its number says which, so that a leaked one can be followed."""
    return Who(f"token:{role.value}:{number}", role, f"{role.value.capitalize()} program")


# Whoever may run the program on the machine itself; no login can be spelt like this.
COMMAND_LINE = Who("command line", Role.ADMIN, "Command line")
