"""Doing an act at the desk: one transaction, then on to a page that shows what came of it.

What cannot be done is answered with the ticket as it stands now, the reason beside the form, and
everything that was typed still in it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.who import Who
from service.errors import ConflictError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.desk.forms import ActProblem, problem_of
from service.pages.desk.ticket import render_desk_ticket
from service.usecases.rows.services import Services
from service.usecases.showing.open_desk import open_desk
from service.usecases.showing.queue_order import next_to_take

__all__ = ["Act", "Text", "acts_router", "do_act"]

Act = Callable[[Session, datetime, Who], str]
Text = Annotated[str, Form()]


def acts_router() -> APIRouter:
    """A router for forms of the desk."""
    return APIRouter(
        prefix="/desk",
        route_class=PageRoute,
        include_in_schema=False,
        default_response_class=HTMLResponse,
        dependencies=[Depends(require(Role.DESK))],
    )


def do_act(
    request: Request, ticket_id: str, form: str, act: Act, kept: dict[str, str], then: str = ""
) -> Response:
    """Do it and show the ticket it leads to; or show why not, with what was typed.

    ``then`` "next": on to the next ticket that nobody has taken.
    """
    services, who = services_of(request), who_here(request)
    try:
        with services.deciding() as session:
            there = act(session, services.now(), who)
            onward = next_to_take(session, there) if then == "next" else None
    except (ConflictError, InvalidError) as error:
        problem = problem_of(form, error, kept)
        return HTMLResponse(_again(services, who, ticket_id, problem), status_code=error.status)
    address = f"/desk/tickets/{quote(onward or there, safe='')}"
    done = "undone" if form == "undo" else "last" if then == "next" else "1"
    how = {"left": there} if onward else {"done": done}
    return RedirectResponse(f"{address}?{urlencode(how)}", status_code=303)


def _again(services: Services, who: Who, ticket_id: str, problem: ActProblem) -> str:
    with services.db.reading() as session:
        page = open_desk(session, services.now(), ticket_id)
    return render_desk_ticket(page, who, problem=problem)
