"""Who is at an apartment's door: nobody is signed in, the key in the address says which home it is."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any

import structlog
from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from service.errors import BodyTooLargeError, EndswitchError
from service.pages.access import services_of
from service.pages.home.address import Place, language_asked, language_guessed, once_or_new
from service.pages.rendering import render
from service.telemetry.logs import where
from service.usecases.hearing.danger_unstored import BROKEN
from service.usecases.hearing.web_doors import Door, open_door
from service.usecases.home.web_say import (
    Said,
    Sent,
    TooManyError,
    dangers_in,
    keep_for_later,
    say_on_page,
)
from service.usecases.home.web_show import language_kept
from service.usecases.home.web_words import danger_says, page_words
from service.usecases.loading.page_names import VIA_PAGE
from service.usecases.rows.services import Services

__all__ = ["DoorGoneError", "HomeRoute", "Visit", "count_sent", "leave_now", "visit"]

log = structlog.get_logger("endswitch.home")


class DoorGoneError(EndswitchError):
    """The key is unknown or was withdrawn."""

    code = "door_gone"
    status = 404


@dataclass(frozen=True, slots=True)
class Visit:
    """One look at one apartment's page."""

    services: Services
    door: Door
    place: Place

    def try_to_tell(self, said: Said) -> Sent | None:
        """Store a danger and give the alarm; whatever fails must not keep the leave-now page back."""
        try:
            return say_on_page(self.services, self.services.now(), self.door, said)
        except (EndswitchError, *BROKEN) as error:
            log.critical("danger_not_stored", error=where(error))
            keep_for_later(self.services, self.services.now(), self.place.key, said)
            return None


def visit(request: Request, key: str) -> Visit:
    """The apartment behind the key, and the language of the page.

    Raises:
        DoorGoneError: the key opens nothing.
    """
    services = services_of(request)
    now = services.now()
    with services.db.reading() as session:
        door = open_door(session, key)
        if door is None:
            raise DoorGoneError("this key opens nothing")
        language = language_asked(request) or language_kept(session, now, door)
    return Visit(services, door, Place(key, language or language_guessed(request)))


def leave_now(key: str, language: str, dangers: tuple[str, ...]) -> RedirectResponse:
    """To the page that says to leave; it needs no database."""
    where_to = Place(key, language).at("danger", kind=".".join(dangers))
    return RedirectResponse(where_to, status_code=303)


def count_sent(request: Request, sent: Sent | None) -> None:
    """What was sent from a page, in the metrics of the ways in."""
    result = "failed" if sent is None else "duplicate" if sent.duplicate else "stored"
    request.app.state.metrics.inbound_total.labels(VIA_PAGE, result).inc()


class HomeRoute(APIRoute):
    """A route whose expected errors are pages in the tenant's language."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Wrap the usual handler."""
        handle = super().get_route_handler()

        async def handle_or_explain(request: Request) -> Response:
            try:
                return await handle(request)
            except DoorGoneError:
                return _explain(request, 404, "gone")
            except TooManyError:
                return _explain(request, 429, "many")
            except HTTPException as error:
                too_large = isinstance(error.__cause__, BodyTooLargeError)
                return _too_large(request) if too_large else _explain(request, 400, "broken")
            except BROKEN as error:
                log.warning("home_not_ready", error=where(error))
                said = await _said(request)
                dangers = dangers_in(said.text)
                if not dangers:
                    return _explain(request, 503, "broken")
                key = request.path_params.get("key", "")
                services = services_of(request)
                await run_in_threadpool(keep_for_later, services, services.now(), key, said)
                return leave_now(key, said.language, dangers)

        return handle_or_explain


async def _said(request: Request) -> Said:
    """A form that could not be stored; if it tells a danger, people must leave all the same."""
    sent = await request.form() if request.method == "POST" else {}
    fields = {name: value for name, value in sent.items() if isinstance(value, str)}
    language = _language(request)
    says = [
        danger_says(fields[name], language) or fields[name]
        for name in ("words", "kind")
        if fields.get(name)
    ]
    return Said(once_or_new(fields.get("once", "")), " ".join(says)[:4000], language, fields)


def _language(request: Request) -> str:
    return language_asked(request) or language_guessed(request)


def _too_large(request: Request) -> Response:
    """More than any form needs; of a photo it is said on the page that takes photos."""
    if not request.url.path.endswith("/photo"):
        return _explain(request, 413, "broken")
    place = Place(request.path_params.get("key", ""), _language(request))
    return RedirectResponse(place.at("photo", note="photo_large"), status_code=303)


def _explain(request: Request, status: int, what: str) -> HTMLResponse:
    language = _language(request)
    page = render(
        "home/templates/cannot.html",
        t=page_words(language),
        language=language,
        place=None,
        door_name="",
        what=what,
        switch="",
    )
    return HTMLResponse(page, status_code=status)
