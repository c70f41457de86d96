"""Passwords: which are good enough, how they are kept, how one is checked.

Rules of NIST SP 800-63B-4, 3.1.1.2: where the password is all there is, at least 15 characters; long
ones, spaces and any letters are welcome; no rules about kinds of characters; refused are common ones,
runs, repetitions and the words of the account itself; nothing expires by itself. Kept as Argon2id
(RFC 9106, second recommended set: 64 MiB, 3 passes, 4 lanes), which takes about a tenth of a second.
"""

from __future__ import annotations

import re
import threading
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from service.errors import TryLaterError

__all__ = ["LEAST", "MOST", "Checked", "check_password", "hash_password", "wrong_with"]

LEAST, MOST = 15, 256
OWN = 6  # characters that have to be left when what is common is taken away
AT_ONCE = 2  # hashes at the same time: each takes 64 MiB
PATIENCE_SECONDS = 5.0

# What people choose most, as far as it can be part of fifteen characters. Common practice, no source.
_COMMON = """
abc123 access admin administrator baseball batterystaple boiler changeme charlie computer
correcthorse default donald dragon endswitch football freedom guest hallo heating hello
hockey iloveyou jordan letmein login master michael monkey mustang nothing office passw0rd
password passwort princess qazwsx secret shadow something starwars summer autumn winter
spring sunshine superman system technician temporary thermostat trustno1 truck welcome
whatever
"""
_ROWS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "1qaz2wsx",
)
_REPEATED = re.compile(r"(.{1,8}?)\1{2,}")


@dataclass(frozen=True, slots=True)
class Checked:
    """Whether a password was right, and its hash made anew when the old way is out of date."""

    right: bool
    renewed: str | None = None


def wrong_with(password: str, known: Sequence[str]) -> str | None:
    """What speaks against a new password, as a sentence; None when it is good.

    ``known`` are words that belong to the account: its login, the person's name.
    """
    whole = _normal(password)
    if len(whole) < LEAST:
        return f"Use at least {LEAST} characters. Four or five words in a row are easy to remember."
    if len(whole) > MOST:
        return f"Use at most {MOST} characters."
    if len(_own(whole, known)) < OWN:
        return "This one is easy to guess: it is made of common words, runs or your own name."
    return None


def hash_password(password: str, *, patience_seconds: float = PATIENCE_SECONDS) -> str:
    """What is stored.

    Raises:
        TryLaterError: too many passwords are being worked on, and that for longer than the patience.
    """
    with _turn(patience_seconds):
        return _hasher().hash(_normal(password))


def check_password(stored: str | None, password: str) -> Checked:
    """Compare a password with what is stored; as much work when nothing is stored.

    Raises:
        TryLaterError: too many passwords are being worked on.
    """
    given = _normal(password[: MOST + 1])  # longer is never right, and not worth hashing
    with _turn():
        try:
            _hasher().verify(stored or _nobodys(), given)
        except (VerificationError, InvalidHashError):
            return Checked(right=False)
        if stored is None:
            return Checked(right=False)
        renewed = _hasher().hash(given) if _hasher().check_needs_rehash(stored) else None
        return Checked(right=True, renewed=renewed)


def _normal(password: str) -> str:
    """The same characters however a keyboard composes them; bytes that are no text stay out."""
    text = password.encode("utf-8", "replace").decode()
    return unicodedata.normalize("NFC", text)


def _own(password: str, known: Sequence[str]) -> str:
    """What is left of a password without what anybody would try."""
    rest = re.sub(r"[\s_.-]+", "", password.casefold())
    words = [
        *_COMMON.split(),
        *(part for word in known for part in re.split(r"\W+", word.casefold())),
    ]
    for word in sorted({word for word in words if len(word) > 2}, key=lambda w: (-len(w), w)):
        rest = rest.replace(word, "")
    for row in _ROWS:
        for line in (row, row[::-1]):
            for size in range(len(line), 3, -1):
                for start in range(len(line) - size + 1):
                    rest = rest.replace(line[start : start + size], "")
    return _REPEATED.sub(r"\1", rest)


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


@cache
def _nobodys() -> str:
    """Compared with when there is no such account, so that the answer takes as long."""
    return _hasher().hash("nobody has this password")


_places = threading.BoundedSemaphore(AT_ONCE)


@contextmanager
def _turn(patience_seconds: float = PATIENCE_SECONDS) -> Iterator[None]:
    if not _places.acquire(timeout=patience_seconds):
        raise TryLaterError("many people are signing in; try again in a minute")
    try:
        yield
    finally:
        _places.release()
