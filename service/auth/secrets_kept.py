"""Secrets are shown once and kept as hashes: whoever reads the database cannot sign in."""

from __future__ import annotations

import hashlib
import secrets

__all__ = ["hashed", "new_secret"]

SECRET_BYTES = 32
LONGEST = 200  # of what is presented; longer is not ours and not worth hashing


def new_secret(prefix: str = "") -> str:
    """A random word nobody can guess."""
    return prefix + secrets.token_urlsafe(SECRET_BYTES)


def hashed(secret: str) -> str:
    """What is stored and looked up. The secret has 256 random bits, so one round is enough."""
    return hashlib.sha256(secret[:LONGEST].encode("utf-8", "replace")).hexdigest()
