"""Somebody is on the telephone: what they say is written down, and what to say to them is shown."""

from __future__ import annotations

import secrets
from urllib.parse import urlencode

from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from service.errors import InvalidError
from service.pages.access import services_of, who_here
from service.pages.desk.doing import Text, acts_router
from service.pages.desk.forms import ActProblem, problem_of
from service.pages.rendering import render
from service.usecases.desk.place_by_person import buildings_by_name
from service.usecases.home.write_down_call import Call, write_down_call
from service.usecases.loading.page_names import VIA_CALL
from service.usecases.showing.show_call import show_call

__all__ = ["router"]

router = acts_router()


@router.get("/call")
def call(request: Request, building: str = "", apartment: str = "", said: str = "") -> Response:
    """An empty form, or that of a home; ``said`` is what was just written down."""
    try:
        page = _page(request, building, apartment, said=said)
    except InvalidError as error:
        typed = {"building": building, "apartment": apartment}
        problem = problem_of("call", error, typed)
        return HTMLResponse(_page(request, problem=problem), status_code=error.status)
    return HTMLResponse(page)


@router.post("/call")
def write_down(
    request: Request,
    building: Text = "",
    apartment: Text = "",
    words: Text = "",
    language: Text = "",
    once: Text = "",
    phone: Text = "",
    known: Text = "",
) -> Response:
    """Hear what was told; then the same home again, with what to say now."""
    services = services_of(request)
    once = once if once.isascii() and 0 < len(once) <= 64 else secrets.token_urlsafe(12)
    told = Call(once, building, apartment, words, language, phone.strip())
    try:
        message, home = write_down_call(services, services.now(), who_here(request), told)
    except InvalidError as error:
        kept = {"building": building, "apartment": apartment, "words": words, "phone": phone}
        problem = problem_of("call", error, {**kept, "language": language})
        at = (building, apartment) if known else ("", "")
        return HTMLResponse(_page(request, *at, problem=problem), status_code=error.status)
    request.app.state.metrics.inbound_total.labels(VIA_CALL, "stored").inc()
    here = {"building": home[0], "apartment": home[1], "said": message}
    return RedirectResponse(f"/desk/call?{urlencode(here)}", status_code=303)


def _page(
    request: Request,
    building: str = "",
    apartment: str = "",
    *,
    said: str = "",
    problem: ActProblem | None = None,
) -> str:
    """The form of a home, or the one that asks which home it is."""
    services = services_of(request)
    typed = {"building": building, "apartment": apartment, "words": "", "language": "", "phone": ""}
    with services.db.reading() as session:
        now = services.now()
        known = bool(building and apartment)
        view = show_call(session, building, apartment, said) if known else None
        buildings = () if known else buildings_by_name(session)
    return render(
        "desk/templates/call.html",
        view=view,
        now=now,
        buildings=buildings,
        act_problem=problem,
        typed=typed | (problem.kept if problem else {}),
        once=secrets.token_urlsafe(12),
        door="desk",
    )
