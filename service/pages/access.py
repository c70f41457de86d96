"""Who is at the door: the session behind the cookie; and errors as pages instead of JSON."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import Request, Response
from fastapi.responses import HTMLResponse
from fastapi.routing import APIRoute

from service.auth.roles import Role
from service.auth.sessions import COOKIE, session_role
from service.errors import EndswitchError, ForbiddenError, UnauthorizedError
from service.pages.rendering import Door, render_problem
from service.usecases.services import Services

__all__ = ["DOOR_OF", "PageRoute", "require", "role_here", "services_of"]

_TITLES = {
    401: "Sign in first",
    403: "This page is not for you",
    404: "There is nothing under that name",
    409: "That no longer fits",
    422: "Something is missing or wrong",
    503: "Not now: try again in a minute",
}
_AT_THE_GATE = frozenset({401, 403})

DOOR_OF: dict[Role, Door] = {Role.DESK: "desk", Role.TRUCK: "truck", Role.OWNER: "owner"}


def services_of(request: Request) -> Services:
    """The services put together by the application."""
    services: Services = request.app.state.services
    return services


def role_here(request: Request) -> Role | None:
    """The role signed in on this device, if any."""
    services = services_of(request)
    cookie = request.cookies.get(COOKIE)
    if not cookie:
        return None
    with services.db.reading() as session:
        return session_role(session, cookie, services.now())


def require(role: Role) -> Callable[[Request], None]:
    """A dependency that lets one role in.

    Raises:
        UnauthorizedError: nobody is signed in.
        ForbiddenError: somebody else is.
    """

    def check(request: Request) -> None:
        here = role_here(request)
        if here is None:
            raise UnauthorizedError(
                "You are not signed in on this device, or your session has ended."
            )
        if here is not role:
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
                title = _TITLES.get(error.status, "That did not work")
                door = _door_in(request) if error.status not in _AT_THE_GATE else None
                page = render_problem(error.status, title, _sentence(error.message), door)
                return HTMLResponse(page, status_code=error.status)

        return handle_or_explain


def _door_in(request: Request) -> Door | None:
    """The door the address belongs to."""
    first = request.url.path.split("/")[1]
    return next((door for door in DOOR_OF.values() if door == first), None)


def _sentence(message: str) -> str:
    text = message[:1].upper() + message[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
