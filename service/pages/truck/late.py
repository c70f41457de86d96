"""What came after a ticket was closed elsewhere: the ticket as it is now, and what was typed."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import Request
from fastapi.responses import HTMLResponse

from service.errors import ConflictError
from service.pages.access import services_of
from service.pages.rendering import FormProblem, render_ticket
from service.pages.truck.forms import typed_words
from service.usecases.showing.show_ticket import show_ticket

__all__ = ["too_late"]


def too_late(
    request: Request, ticket_id: str, gone: ConflictError, typed: Mapping[str, str]
) -> HTMLResponse:
    """The ticket with why nothing was saved, and the words that would else be lost."""
    services = services_of(request)
    with services.db.reading() as session:
        view = show_ticket(session, services.now(), ticket_id)
    message = gone.message[:1].upper() + gone.message[1:].rstrip(".") + "."
    problem = FormProblem("h-history", message, {"typed": typed_words(typed)})
    return HTMLResponse(render_ticket(view, "truck", problem), status_code=gone.status)
