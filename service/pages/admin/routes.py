"""Addresses of the admin: accounts, who is signed in, the audit log."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.auth.roles import Role
from service.auth.sessions import open_sessions
from service.errors import ConflictError, EndswitchError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.entry.forms import typed_form
from service.pages.rendering import render
from service.usecases.rows.pressing import zone_of
from service.usecases.staff.accounts import (
    LINK_HOURS,
    ROLES,
    add_account,
    change_role,
    list_accounts,
    reset_account,
    sign_out_everywhere,
    switch_off,
    switch_on,
)
from service.usecases.staff.audit_read import A_PAGE, newest_acts

__all__ = ["router"]

router = APIRouter(
    prefix="/admin",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.ADMIN))],
)


@router.get("")
def accounts(request: Request) -> Response:
    """All accounts and everybody who is signed in."""
    return _page(request)


@router.post("/accounts")
def add(request: Request, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """A new account: its link on the page that answers, this once."""
    services, who = services_of(request), who_here(request)
    login, name = typed.get("login", ""), typed.get("name", "")
    try:
        role = _role(typed)
        with services.db.transaction() as session:
            secret = add_account(session, services.now(), who, login, name, role)
    except (InvalidError, ConflictError) as refused:
        return _page(request, refused, typed)
    return _link(request, login.strip().lower(), secret)


@router.post("/accounts/{login}/role")
def role(request: Request, login: str, typed: dict[str, str] = Depends(typed_form)) -> Response:
    """Another role; it counts at once."""
    services, who = services_of(request), who_here(request)
    try:
        chosen = _role(typed)
        with services.db.transaction() as session:
            change_role(session, services.now(), who, login, chosen)
    except (InvalidError, ConflictError) as refused:
        return _page(request, refused)
    return _back()


@router.post("/accounts/{login}/reset")
def reset(request: Request, login: str) -> Response:
    """The password stops working: a link for a new one on the page that answers, this once."""
    services, who = services_of(request), who_here(request)
    try:
        with services.db.transaction() as session:
            secret = reset_account(session, services.now(), who, login)
    except ConflictError as refused:
        return _page(request, refused)
    return _link(request, login, secret)


@router.post("/accounts/{login}/off")
def off(request: Request, login: str) -> Response:
    """Nobody signs in with it any more."""
    services, who = services_of(request), who_here(request)
    try:
        with services.db.transaction() as session:
            switch_off(session, services.now(), who, login)
    except ConflictError as refused:
        return _page(request, refused)
    return _back()


@router.post("/accounts/{login}/on")
def on(request: Request, login: str) -> Response:
    """It can be used again."""
    services, who = services_of(request), who_here(request)
    with services.db.transaction() as session:
        switch_on(session, services.now(), who, login)
    return _back()


@router.post("/accounts/{login}/sign-out")
def out(request: Request, login: str) -> Response:
    """End all sessions of an account, or of a role's links."""
    services, who = services_of(request), who_here(request)
    with services.db.transaction() as session:
        sign_out_everywhere(session, services.now(), who, login)
    return _back()


@router.get("/audit")
def audit(
    request: Request, before: Annotated[int | None, Query(ge=1, le=2**31 - 1)] = None
) -> Response:
    """What was done, newest first."""
    services = services_of(request)
    with services.db.reading() as session:
        lines = newest_acts(session, before)
        zone = zone_of(session, None)
    older = lines[-1].seq if len(lines) == A_PAGE and lines[-1].seq > 1 else None
    page = render(
        "admin/templates/audit.html",
        door="admin",
        lines=lines,
        older=older,
        newest=before is None,
        now=services.now(),
        timezone=zone,
    )
    return HTMLResponse(page)


def _page(
    request: Request, problem: EndswitchError | None = None, kept: dict[str, str] | None = None
) -> HTMLResponse:
    services = services_of(request)
    with services.db.reading() as session:
        listed, signed_in = list_accounts(session), open_sessions(session, services.now())
    page = render(
        "admin/templates/accounts.html",
        door="admin",
        accounts=listed,
        signed_in=signed_in,
        roles=ROLES,
        now=services.now(),
        message=problem.message if problem is not None else "",
        wrong={one.pointer.strip("/"): one.detail for one in problem.errors} if problem else {},
        kept=kept or {},
    )
    return HTMLResponse(page, status_code=problem.status if problem is not None else 200)


def _link(request: Request, login: str, secret: str) -> HTMLResponse:
    address = f"{services_of(request).settings.base_url}/choose-password/{secret}"
    page = render(
        "admin/templates/link.html", door="admin", login=login, address=address, hours=LINK_HOURS
    )
    return HTMLResponse(page)


def _role(typed: dict[str, str]) -> Role:
    """The chosen role.

    Raises:
        InvalidError: none of the list.
    """
    try:
        return Role(typed.get("role", ""))
    except ValueError:
        raise InvalidError("choose desk, truck, owner or admin") from None


def _back() -> RedirectResponse:
    return RedirectResponse("/admin", status_code=303)
