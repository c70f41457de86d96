"""Signing in with a link that works once, signing out, and the first page."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.links import (
    LinkAlreadyUsedError,
    LinkExpiredError,
    LinkUnknownError,
    look_at_link,
)
from service.pages.access import (
    DOOR_OF,
    PageRoute,
    cookie_here,
    role_here,
    services_of,
    who_if_any,
)
from service.pages.entry.forms import go_home, typed_form, with_session, without_session
from service.pages.rendering import render
from service.usecases.staff.sign_in import WrongSignInError, enter_by_link, sign_out

__all__ = ["router"]

_NO_GOOD = (LinkAlreadyUsedError, LinkExpiredError, LinkUnknownError, WrongSignInError)


def _gone() -> HTMLResponse:
    """One page for used, old and unknown links, so that guessing teaches nothing."""
    return HTMLResponse(render("entry/templates/gone.html"), status_code=410)


router = APIRouter(
    route_class=PageRoute, include_in_schema=False, default_response_class=HTMLResponse
)


@router.get("/")
def start(request: Request) -> Response:
    """To the signed-in person's door, or how to get in."""
    role = role_here(request)
    return go_home(role) if role in DOOR_OF else HTMLResponse(render("entry/templates/start.html"))


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
            secret, who = enter_by_link(session, services.now(), token, cookie_here(request))
    except _NO_GOOD:
        return _gone()
    return with_session(request, go_home(who.role), secret, who)


@router.get("/sign-out")
def ask_sign_out(request: Request) -> Response:
    """A button, because a page may be fetched ahead by the browser."""
    who = who_if_any(request)
    by_link = who is not None and who.account.startswith("link:")
    door = DOOR_OF.get(who.role) if who is not None else None
    return HTMLResponse(render("entry/templates/sign_out.html", door=door, by_link=by_link))


@router.post("/sign-out")
def leave(request: Request, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """End the session and have the browser forget what it kept."""
    cookie, services = cookie_here(request), services_of(request)
    if cookie:
        who = who_if_any(request)
        with services.db.transaction() as session:
            sign_out(session, services.now(), who, cookie)
    return without_session(request, RedirectResponse("/", status_code=303), typed)
