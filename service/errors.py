"""Errors that people outside can meet, in one shape: ``application/problem+json`` (RFC 9457)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

__all__ = [
    "BodyTooLargeError",
    "ChangedError",
    "ConflictError",
    "EndswitchError",
    "ForbiddenError",
    "InvalidError",
    "NotFoundError",
    "PointedError",
    "TryLaterError",
    "UnauthorizedError",
    "problem",
]


@dataclass(frozen=True, slots=True)
class PointedError:
    """One thing wrong with a payload: where (JSON pointer) and what."""

    pointer: str
    detail: str

    def to_dict(self) -> dict[str, str]:
        """The form used in ``errors[]``."""
        return {"pointer": self.pointer, "detail": self.detail}


class EndswitchError(Exception):
    """A situation the caller is told about in words."""

    code = "error"
    status = 500

    def __init__(self, message: str, errors: Sequence[PointedError] = ()) -> None:
        """Say what happened and, for payloads, where."""
        super().__init__(message)
        self.message = message
        self.errors = tuple(errors)


class NotFoundError(EndswitchError):
    """There is nothing under that name."""

    code = "not_found"
    status = 404


class ConflictError(EndswitchError):
    """The request is well formed but does not fit the present state."""

    code = "conflict"
    status = 409


class ChangedError(ConflictError):
    """Somebody or something has changed it since the person looked."""


class InvalidError(EndswitchError):
    """The payload is wrong; ``errors`` say where."""

    code = "invalid"
    status = 422


class BodyTooLargeError(EndswitchError):
    """More bytes than any honest caller sends."""

    code = "body_too_large"
    status = 413


class UnauthorizedError(EndswitchError):
    """Nobody is signed in, or the token is unknown."""

    code = "unauthorized"
    status = 401


class ForbiddenError(EndswitchError):
    """Signed in, but not for this door."""

    code = "forbidden"
    status = 403


class TryLaterError(EndswitchError):
    """The database cannot take it now; nothing was stored."""

    code = "try_later"
    status = 503


TITLES = {
    400: "Bad request",
    401: "Sign in first",
    403: "Not yours to use",
    404: "Not found",
    405: "Method not allowed",
    409: "That no longer fits",
    410: "No longer there",
    413: "Too large",
    415: "Unsupported media type",
    422: "Something is missing or wrong",
    429: "Enough for now",
    500: "Something broke here",
    503: "Try again later",
}


def problem(
    status: int, code: str, detail: str, errors: Sequence[PointedError] = ()
) -> dict[str, Any]:
    """The body of a problem answer."""
    body: dict[str, Any] = {
        "type": f"urn:endswitch:problem:{code}",
        "title": TITLES.get(status, "Error"),
        "status": status,
        "code": code,
        "detail": detail,
    }
    if errors:
        body["errors"] = [e.to_dict() for e in errors]
    return body
