"""What the ways in share: typed fields, where somebody comes from, the cookie, where to go on."""

from __future__ import annotations

import re
from dataclasses import asdict
from datetime import timedelta

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from service.auth.roles import Role
from service.auth.who import Who
from service.pages.access import DOOR_OF, cookie_terms

__all__ = ["address_of", "go_home", "local_path", "typed_form", "with_session", "without_session"]

# Whose the entries are that a phone keeps (``Who.keeper``): read by the phone's scripts, and there after
# the session has ended, so that what is entered then is not sent as somebody else's.
KEEPER = "endswitch-keeper"
KEEPER_FOR = timedelta(days=30)

# Where one may be led after signing in: our own pages for staff, never another site.
_LOCAL = re.compile(r"/(?:desk|truck|owner|admin|plant|account)(?:/[A-Za-z0-9._/-]{0,300})?")


async def typed_form(request: Request) -> dict[str, str]:
    """The text fields of a form, as they were typed."""
    form = await request.form(max_files=0, max_fields=20)
    return {name: value for name, value in form.items() if isinstance(value, str)}


def address_of(request: Request) -> str:
    """The network address of whoever asks; a proxy on this machine may name it."""
    return request.client.host if request.client is not None else "unknown"


def local_path(path: str) -> str:
    """The path, if it is one of ours for staff, else nothing."""
    return path if _LOCAL.fullmatch(path) else ""


def go_home(role: Role) -> RedirectResponse:
    """To the door of this role."""
    return RedirectResponse(f"/{DOOR_OF[role]}", status_code=303)


def with_session(request: Request, answer: Response, secret: str, who: Who) -> Response:
    """The answer, with the session's cookie on it, and whose the phone's entries are from now on."""
    terms = cookie_terms(request)
    answer.set_cookie(terms.name, secret, **asdict(terms))
    seconds = int(KEEPER_FOR.total_seconds())
    answer.set_cookie(
        KEEPER, who.keeper, max_age=seconds, secure=terms.secure, samesite=terms.samesite
    )
    return answer


def without_session(request: Request, answer: Response, typed: dict[str, str]) -> Response:
    """The answer, with the cookies taken away, and all that the browser has kept.

    Not where its page says that entries wait to be sent, nor where it says nothing because its
    script did not run: nothing that was entered is lost.
    """
    terms = cookie_terms(request)
    answer.delete_cookie(
        terms.name,
        path=terms.path,
        secure=terms.secure,
        httponly=terms.httponly,
        samesite=terms.samesite,
    )
    answer.delete_cookie(KEEPER, secure=terms.secure, samesite=terms.samesite)
    if typed.get("kept") == "none":
        answer.headers["Clear-Site-Data"] = '"storage"'
    return answer
