"""Closing a ticket from the truck: one form, with photos; refused, everything typed is still there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from service.auth.roles import Role
from service.errors import ConflictError, InvalidError
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.rendering import FormProblem, local_date, render_ticket
from service.pages.repairs.forms import closing_problem, read_closing
from service.pages.truck.late import too_late
from service.usecases.repairs.close_ticket import close_ticket
from service.usecases.repairs.repair_photos import LARGEST_BYTES, MOST_PHOTOS, Picture, made_anew
from service.usecases.rows.views import TicketView
from service.usecases.showing.show_ticket import show_ticket

__all__ = ["router"]

router = APIRouter(
    prefix="/truck",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.TRUCK))],
)


@dataclass(frozen=True, slots=True)
class _Sent:
    """The text fields of the form, and the pictures; None for a file that is none we take."""

    typed: dict[str, str]
    pictures: tuple[Picture | None, ...]


async def _sent(request: Request) -> _Sent:
    form = await request.form(max_files=MOST_PHOTOS + 1, max_fields=60)
    typed = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
    pictures = []
    for name, value in form.multi_items():
        if name == "photo" and isinstance(value, UploadFile):
            raw = await value.read(LARGEST_BYTES + 1)
            if raw:
                pictures.append(await run_in_threadpool(made_anew, raw))
    await form.close()
    return _Sent(typed, tuple(pictures))


@router.post("/tickets/{ticket_id}/close")
def close(request: Request, ticket_id: str, sent: _Sent = Depends(_sent)) -> Response:
    """Close the ticket, or show what is missing."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_ticket(session, services.now(), ticket_id)
    today = date.fromisoformat(local_date(view.now, view.row.timezone))
    closing = read_closing(view, sent.typed, today)
    if isinstance(closing, FormProblem):
        return _again(view, closing)
    if None in sent.pictures:
        says = "A photo was not taken: send JPEG, PNG or WebP of at most 12 MB."
        return _again(view, FormProblem("close-photo", says, sent.typed))
    closing = replace(closing, photos=tuple(p for p in sent.pictures if p is not None))
    try:
        with services.deciding() as session:
            close_ticket(
                session, services.now(), services.sms, who_here(request), ticket_id, closing
            )
    except InvalidError as refused:
        return _again(view, closing_problem(refused, sent.typed))
    except ConflictError as gone:
        return too_late(request, ticket_id, gone, sent.typed)
    return RedirectResponse(f"/truck/tickets/{ticket_id}", status_code=303)


def _again(view: TicketView, problem: FormProblem) -> HTMLResponse:
    return HTMLResponse(render_ticket(view, "truck", problem), status_code=422)
