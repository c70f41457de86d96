"""Signing in with a link that works once, signing out, and the first page."""

from __future__ import annotations

from dataclasses import asdict

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.links import (
    LinkAlreadyUsedError,
    LinkExpiredError,
    LinkUnknownError,
    look_at_link,
    redeem_link,
)
from service.auth.roles import Role
from service.auth.sessions import COOKIE, CookieTerms, close_session, open_session
from service.pages.access import DOOR_OF, PageRoute, role_here, services_of
from service.pages.rendering import render

__all__ = ["router"]

_NO_GOOD = (LinkAlreadyUsedError, LinkExpiredError, LinkUnknownError)


def _gone() -> HTMLResponse:
    """One page for used, old and unknown links, so that guessing teaches nothing."""
    return HTMLResponse(render("entry/templates/gone.html"), status_code=410)


def _home(role: Role) -> RedirectResponse:
    return RedirectResponse(f"/{DOOR_OF[role]}", status_code=303)


def _terms(request: Request) -> CookieTerms:
    """The cookie travels over https alone, unless people reach us over plain http."""
    return CookieTerms(secure=services_of(request).settings.base_url.startswith("https://"))


router = APIRouter(
    route_class=PageRoute, include_in_schema=False, default_response_class=HTMLResponse
)


@router.get("/")
def start(request: Request) -> Response:
    """To the signed-in person's door, or how to get in."""
    role = role_here(request)
    return _home(role) if role in DOOR_OF else HTMLResponse(render("entry/templates/start.html"))


@router.get("/enter/{token}")
def ask(request: Request, token: str) -> Response:
    """A button; opening the link alone uses nothing up."""
    services = services_of(request)
    with services.db.reading() as session:
        try:
            role = look_at_link(session, token, services.now())
        except _NO_GOOD:
            return _gone()
    if role not in DOOR_OF:
        return _gone()
    return HTMLResponse(render("entry/templates/continue.html", token=token))


@router.post("/enter/{token}")
def enter(request: Request, token: str) -> Response:
    """Use the link up and open a session."""
    services = services_of(request)
    try:
        with services.db.transaction() as session:
            role = redeem_link(session, token, services.now())
            secret = open_session(session, role, services.now()) if role in DOOR_OF else ""
    except _NO_GOOD:
        return _gone()
    if not secret:
        return _gone()
    answer = _home(role)
    answer.set_cookie(COOKIE, secret, **asdict(_terms(request)))
    return answer


@router.get("/sign-out")
def ask_sign_out(request: Request) -> Response:
    """A button, because a page may be fetched ahead by the browser."""
    role = role_here(request)
    page = render("entry/templates/sign_out.html", door=DOOR_OF.get(role) if role else None)
    return HTMLResponse(page)


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End the session and have the browser forget what it kept."""
    cookie = request.cookies.get(COOKIE)
    if cookie:
        with services_of(request).db.transaction() as session:
            close_session(session, cookie)
    answer = RedirectResponse("/", status_code=303)
    terms = _terms(request)
    answer.delete_cookie(
        COOKIE,
        path=terms.path,
        secure=terms.secure,
        httponly=terms.httponly,
        samesite=terms.samesite,
    )
    return answer
