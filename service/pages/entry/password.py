"""Signing in with a password, and choosing one with a link that works once."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.links import LinkAlreadyUsedError, LinkExpiredError, LinkUnknownError
from service.auth.passwords import LEAST
from service.auth.sign_in_limits import TooManyTriesError
from service.errors import InvalidError
from service.pages.access import DOOR_OF, PageRoute, cookie_here, role_here, services_of
from service.pages.entry.forms import address_of, go_home, local_path, typed_form, with_session
from service.pages.rendering import render
from service.usecases.staff.sign_in import (
    Attempt,
    WrongSignInError,
    choose_password,
    sign_in,
    whose_link,
)

__all__ = ["router"]

_NO_GOOD = (LinkAlreadyUsedError, LinkExpiredError, LinkUnknownError)

router = APIRouter(
    route_class=PageRoute, include_in_schema=False, default_response_class=HTMLResponse
)


@router.get("/sign-in")
def ask(request: Request, to: str = "") -> Response:
    """The form; whoever is signed in goes on to their own page."""
    role = role_here(request)
    return go_home(role) if role in DOOR_OF else _form(to=to)


@router.post("/sign-in")
def enter(request: Request, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """Open a session, or say that it does not fit: the same words whatever was wrong."""
    to, login = local_path(typed.get("to", "")), typed.get("login", "")
    attempt = Attempt(login, typed.get("password", ""), address_of(request), cookie_here(request))
    try:
        secret, who = sign_in(services_of(request), attempt)
    except TooManyTriesError as wait:
        answer = _form(wait.message, login, to, 429)
        answer.headers["Retry-After"] = str(wait.minutes * 60)
        return answer
    except WrongSignInError as refused:
        return _form(refused.message, login, to, 422)
    there = RedirectResponse(to, status_code=303) if to else go_home(who.role)
    return with_session(request, there, secret, who)


@router.get("/choose-password/{token}")
def ask_new(request: Request, token: str) -> Response:
    """The form; opening the link alone uses nothing up."""
    return _choose(request, token)


@router.post("/choose-password/{token}")
def keep_new(request: Request, token: str, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """Keep the password and sign in, or say what speaks against it."""
    chosen = typed.get("password", "")
    try:
        secret, who = choose_password(services_of(request), token, chosen, cookie_here(request))
    except _NO_GOOD:
        return _gone()
    except InvalidError as weak:
        return _choose(request, token, weak.message)
    return with_session(request, go_home(who.role), secret, who)


def _form(message: str = "", login: str = "", to: str = "", status: int = 200) -> HTMLResponse:
    page = render(
        "entry/templates/sign_in.html", message=message, login=login[:64], to=local_path(to)
    )
    return HTMLResponse(page, status_code=status)


def _choose(request: Request, token: str, message: str = "") -> HTMLResponse:
    services = services_of(request)
    try:
        with services.db.reading() as session:
            who = whose_link(session, services.now(), token)
    except _NO_GOOD:
        return _gone()
    page = render(
        "entry/templates/choose_password.html", token=token, who=who, message=message, least=LEAST
    )
    return HTMLResponse(page, status_code=422 if message else 200)


def _gone() -> HTMLResponse:
    return HTMLResponse(render("entry/templates/gone.html"), status_code=410)
