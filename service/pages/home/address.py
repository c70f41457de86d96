"""Where a tenant's pages are, in which language, and how their forms are told apart."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from fastapi import Request

from service.usecases.home.web_words import LANGUAGES

__all__ = ["Place", "language_asked", "language_guessed", "new_once", "once_or_new"]

_ONCE = re.compile(r"[A-Za-z0-9_-]{16,40}")


@dataclass(frozen=True, slots=True)
class Place:
    """The pages of one key in one language."""

    key: str
    language: str

    def at(self, page: str = "", **query: str) -> str:
        """The address of one of the pages; the language travels along."""
        path = f"/home/{quote(self.key, safe='')}" + (f"/{page}" if page else "")
        return f"{path}?{urlencode({'lang': self.language, **query})}"


def language_asked(request: Request) -> str | None:
    """The language the address names."""
    asked = request.query_params.get("lang", "")
    return asked if asked in LANGUAGES else None


def language_guessed(request: Request) -> str:
    """The first of our languages that the browser prefers."""
    for part in request.headers.get("accept-language", "").split(","):
        if part.strip()[:2].lower() in LANGUAGES:
            return part.strip()[:2].lower()
    return LANGUAGES[0]


def new_once() -> str:
    """A word for one form, so that the same form counts once however often it is sent."""
    return secrets.token_urlsafe(15)


def once_or_new(given: str) -> str:
    """The form's word; a form that carries none of ours counts each time."""
    return given if _ONCE.fullmatch(given) else new_once()
