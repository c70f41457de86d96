"""A person's own page: where they are signed in, out everywhere, another password."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.passwords import LEAST
from service.auth.roles import Role
from service.auth.sessions import IDLE_MINUTES, VALID_FOR, open_sessions
from service.auth.sign_in_limits import TooManyTriesError
from service.errors import InvalidError
from service.pages.access import (
    DOOR_OF,
    PageRoute,
    cookie_here,
    require,
    services_of,
    who_here,
)
from service.pages.entry.forms import address_of, typed_form, with_session, without_session
from service.pages.rendering import render
from service.usecases.staff.accounts import sign_out_everywhere
from service.usecases.staff.sign_in import Attempt, WrongSignInError, change_password, sign_out

__all__ = ["router"]

router = APIRouter(
    prefix="/account",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK, Role.TRUCK, Role.OWNER))],
)


@router.get("")
def own(request: Request) -> Response:
    """Who this is, where else they are signed in, and when that ends."""
    return _page(request)


@router.post("/sign-out-everywhere")
def out(request: Request, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """End every session of this account, this one too; whoever came by a link has only this one."""
    services, who, cookie = services_of(request), who_here(request), cookie_here(request)
    with services.db.transaction() as session:
        if who.account.startswith("link:"):
            sign_out(session, services.now(), who, cookie or "")
        else:
            sign_out_everywhere(session, services.now(), who, who.account)
    return without_session(request, RedirectResponse("/sign-in", status_code=303), typed)


@router.post("/password")
def change(request: Request, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """Another password; every other device is signed out."""
    who = who_here(request)
    attempt = Attempt(
        who.account, typed.get("present", ""), address_of(request), cookie_here(request)
    )
    try:
        secret = change_password(services_of(request), who, attempt, typed.get("password", ""))
    except InvalidError as weak:
        return _page(request, {"password": weak.message}, 422)
    except (WrongSignInError, TooManyTriesError) as refused:
        return _page(request, {"present": refused.message}, 422)
    return with_session(request, RedirectResponse("/account", status_code=303), secret, who)


def _page(request: Request, wrong: dict[str, str] | None = None, status: int = 200) -> HTMLResponse:
    services, who = services_of(request), who_here(request)
    with services.db.reading() as session:
        everybody = open_sessions(session, services.now())
    page = render(
        "entry/templates/account.html",
        door=DOOR_OF[who.role],
        who=who,
        by_link=who.account.startswith("link:"),
        sessions=tuple(one for one in everybody if one.who.account == who.account),
        now=services.now(),
        idle_minutes=IDLE_MINUTES[who.role],
        hours=int(VALID_FOR.total_seconds() // 3600),
        least=LEAST,
        wrong=wrong or {},
    )
    return HTMLResponse(page, status_code=status)
