"""Who is at the door: the session behind the cookie; and errors as pages instead of JSON."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from contextlib import suppress
from typing import Any

import structlog
from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse
from fastapi.routing import APIRoute
from sqlalchemy.exc import IntegrityError, OperationalError

from service.auth.roles import Role
from service.auth.sessions import CookieTerms, note_seen, seen_is_due, session_who
from service.auth.who import Who
from service.errors import (
    EndswitchError,
    ForbiddenError,
    InvalidError,
    TryLaterError,
    UnauthorizedError,
)
from service.pages.rendering import Door, render_problem
from service.telemetry.logs import where
from service.usecases.rows.services import Services

__all__ = [
    "DOOR_OF",
    "PageRoute",
    "cookie_here",
    "cookie_terms",
    "page_for",
    "require",
    "role_here",
    "services_of",
    "still_here",
    "who_here",
    "who_if_any",
]

RETRY_SECONDS = 5
log = structlog.get_logger("endswitch.pages")

_TITLES = {
    401: "Sign in first",
    403: "This page is not for you",
    404: "There is nothing under that name",
    405: "This address takes a form only",
    409: "That no longer fits",
    413: "That is too large",
    422: "Something is missing or wrong",
    429: "Enough for now",
    500: "Something broke here",
    503: "Not now: try again in a minute",
}
# What to do where no page answers for itself.
_ADVICE = {
    404: "No page has this address. It may be cut off: look at it again, or begin at the start.",
    405: "Go back to the page with the form and send it from there.",
    413: "Go back and send less at once: smaller photos, fewer words.",
    500: "It has been noted. Go back and try again; if it stays, tell whoever runs Endswitch.",
    503: "Nothing was stored. Go back and send it again in a minute.",
}
_AT_THE_GATE = frozenset({401, 403})

DOOR_OF: dict[Role, Door] = {
    Role.DESK: "desk",
    Role.TRUCK: "truck",
    Role.OWNER: "owner",
    Role.ADMIN: "admin",
}


def services_of(request: Request) -> Services:
    """The services put together by the application."""
    services: Services = request.app.state.services
    return services


def cookie_terms(request: Request) -> CookieTerms:
    """The cookie travels over https alone, unless people reach us over plain http."""
    return CookieTerms(secure=services_of(request).settings.base_url.startswith("https://"))


def cookie_here(request: Request) -> str | None:
    """The value of the session's cookie on this device."""
    return request.cookies.get(cookie_terms(request).name)


def _look(request: Request) -> Who | None:
    """Who is signed in on this device; what a person does keeps the session from ending idle."""
    services = services_of(request)
    cookie = cookie_here(request)
    if not cookie:
        return None
    with services.db.reading() as session:
        who = session_who(session, cookie, services.now())
        due = who is not None and seen_is_due(session, cookie, services.now())
    if due and _by_a_person(request):
        with suppress(TryLaterError), services.db.transaction() as session:
            note_seen(session, cookie, services.now())
    return who


def _by_a_person(request: Request) -> bool:
    """Not a page that refreshes itself: those ask in the background."""
    mode = request.headers.get("sec-fetch-mode", "navigate")
    return request.method != "GET" or mode == "navigate"


def who_if_any(request: Request) -> Who | None:
    """Who is signed in on this device, if anybody; looked up once a request."""
    if not hasattr(request.state, "who"):
        request.state.who = _look(request)
    who: Who | None = request.state.who
    return who


def still_here(request: Request) -> bool:
    """Whether whoever opened a long answer is signed in now; looked up each time."""
    return _look(request) is not None


def who_here(request: Request) -> Who:
    """Who is signed in on this device.

    Raises:
        UnauthorizedError: nobody is.
    """
    who = who_if_any(request)
    if who is None:
        raise UnauthorizedError("You are not signed in on this device, or your session has ended.")
    return who


def role_here(request: Request) -> Role | None:
    """The role signed in on this device, if any."""
    who = who_if_any(request)
    return who.role if who is not None else None


def require(*roles: Role) -> Callable[[Request], None]:
    """A dependency that lets these roles in; the admin wherever the desk is.

    Raises:
        UnauthorizedError: nobody is signed in.
        ForbiddenError: somebody else is.
    """
    let_in = {*roles, *({Role.ADMIN} if Role.DESK in roles else ())}

    def check(request: Request) -> None:
        if who_here(request).role not in let_in:
            raise ForbiddenError("You are signed in, but this page is for somebody else.")

    return check


class PageRoute(APIRoute):
    """A route whose expected errors are pages that say what to do."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Wrap the usual handler."""
        handle = super().get_route_handler()

        async def handle_or_explain(request: Request) -> Response:
            try:
                return await handle(request)
            except EndswitchError as error:
                return _explained(request, error)
            except RequestValidationError:
                misfit = "the address, or what was sent with it, does not fit this page"
                return _explained(request, InvalidError(misfit))
            except (OperationalError, IntegrityError) as trouble:
                # Locked, full, or somebody else wrote the same at the same moment.
                log.warning("database_not_ready", error=where(trouble))
                return _explained(request, TryLaterError("nothing was stored"))

        return handle_or_explain


def _explained(request: Request, error: EndswitchError) -> HTMLResponse:
    title = _TITLES.get(error.status, "That did not work")
    door = _door_in(request) if error.status not in _AT_THE_GATE else None
    to = request.url.path if request.method == "GET" else ""
    page = render_problem(error.status, title, _sentence(error.message), door, to)
    headers = {"Retry-After": str(RETRY_SECONDS)} if error.status == 503 else None
    return HTMLResponse(page, status_code=error.status, headers=headers)


def page_for(path: str, status: int) -> str:
    """A page that says what to do, for an address or an error that no page answers for."""
    title = _TITLES.get(status, "That did not work")
    advice = _ADVICE.get(status, "Go back and try again.")
    return render_problem(status, title, advice, _door_of(path))


def _door_in(request: Request) -> Door | None:
    return _door_of(request.url.path)


def _door_of(path: str) -> Door | None:
    """The door an address belongs to."""
    first = path.split("/")[1]
    return next((door for door in DOOR_OF.values() if door == first), None)


def _sentence(message: str) -> str:
    text = message[:1].upper() + message[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
