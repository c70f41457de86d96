"""Who may call: the role behind the bearer token."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import Depends, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer

from service.auth.policies import Act, may
from service.auth.tokens import who_bears
from service.auth.who import Who
from service.errors import ForbiddenError, UnauthorizedError
from service.usecases.rows.services import Services

__all__ = ["allowed", "services_of", "who_calls"]

_bearer = HTTPBearer(auto_error=False, description="from `endswitch token --role ROLE`")


def services_of(request: Request) -> Services:
    """The services put together by the application."""
    services: Services = request.app.state.services
    return services


def allowed(act: Act) -> Callable[..., None]:
    """A dependency that lets through whoever may do this.

    Raises:
        UnauthorizedError: no token, or an unknown one.
        ForbiddenError: the token is for something else.
    """

    def check(
        request: Request,
        given: HTTPAuthorizationCredentials | None = Depends(_bearer),
    ) -> None:
        if given is None:
            raise UnauthorizedError("send a bearer token")
        services = services_of(request)
        with services.db.reading() as session:
            who = who_bears(session, given.credentials, services.now())
        if not may(who.role, act):
            raise ForbiddenError(f"a {who.role.value} token may not do this")
        request.state.caller = who

    return check


def who_calls(request: Request) -> Who:
    """Who is behind a request that ``allowed`` has let through.

    Raises:
        UnauthorizedError: the route is not guarded, so nobody has been looked at.
    """
    who = getattr(request.state, "caller", None)
    if not isinstance(who, Who):
        raise UnauthorizedError("send a bearer token")
    return who
