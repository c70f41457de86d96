"""The leave-now page. It is shown without asking a database, whatever the key."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Depends, Form, Request, Response
from fastapi.responses import HTMLResponse
from sqlalchemy.exc import SQLAlchemyError

from service.pages.access import services_of
from service.pages.home.address import Place, language_asked, language_guessed, once_or_new
from service.pages.home.doors import HomeRoute, Visit, count_sent, leave_now, visit
from service.pages.home.show import show_danger
from service.usecases.home.web_danger import danger_was_told
from service.usecases.home.web_say import Said, finish
from service.usecases.home.web_words import danger_says

__all__ = ["router"]

router = APIRouter(
    prefix="/home",
    route_class=HomeRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
)
MOST_KINDS = 5


@router.get("/{key}/danger")
def what_to_do(request: Request, key: str, kind: str = "") -> Response:
    """What to do now, and a way to tell us once everybody is safe."""
    language = language_asked(request) or language_guessed(request)
    dangers = tuple(k for k in kind[:100].split(".")[:MOST_KINDS] if k.isidentifier())
    return show_danger(Place(key, language), dangers, told=_told(request, key))


@router.post("/{key}/danger")
def tell(
    request: Request,
    later: BackgroundTasks,
    here: Annotated[Visit, Depends(visit)],
    kind: Annotated[str, Form()] = "",
    once: Annotated[str, Form()] = "",
) -> Response:
    """One press tells which danger it is."""
    language = here.place.language
    text = danger_says(kind, language)
    leave = leave_now(here.place.key, language, (kind,) if text else ())
    if not text:
        return leave
    services = services_of(request)
    sent = here.try_to_tell(Said(once_or_new(once), text, language, {"danger": kind}))
    count_sent(request, sent)
    if sent is not None:
        later.add_task(finish, services, services.now(), sent)
        leave.background = later
    return leave


def _told(request: Request, key: str) -> bool:
    """Whether a person was alerted; when that cannot be found out, nothing is claimed."""
    services = services_of(request)
    try:
        with services.db.reading() as session:
            return danger_was_told(session, services.now(), key)
    except SQLAlchemyError:
        return False
