"""Cards to print: one for each apartment, with the address of its page as a QR code."""

from __future__ import annotations

from typing import Annotated

import segno
from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from service.auth.roles import Role
from service.pages.access import PageRoute, require, services_of, who_here
from service.pages.home.address import new_once, once_or_new
from service.pages.rendering import render
from service.usecases.hearing.web_doors import cards_in_use, issue_cards
from service.usecases.home.web_words import LANGUAGES, page_words
from service.usecases.rows.audit import note_act

__all__ = ["router"]

router = APIRouter(
    prefix="/desk/buildings/{building}/cards",
    route_class=PageRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(require(Role.DESK))],
)


@router.get("")
def ask(request: Request, building: str) -> str:
    """Which homes have a card, and a button that makes new ones."""
    with services_of(request).db.reading() as session:
        view = cards_in_use(session, building)
    now = services_of(request).now()
    return render("home/templates/cards.html", view=view, now=now, door="desk", once=new_once())


@router.post("")
def make(
    request: Request,
    building: str,
    apartment: Annotated[str, Form()] = "",
    replace_old: Annotated[str, Form()] = "",
    once: Annotated[str, Form()] = "",
) -> str:
    """New cards, shown this once: their keys are kept as hashes only."""
    services = services_of(request)
    with services.db.transaction() as session:
        cards = issue_cards(
            session,
            services.now(),
            building,
            [apartment] if apartment else [],
            batch=once_or_new(once),
            replace_old=bool(replace_old),
        )
        details = {"homes": [card.apartment for card in cards], "old_end": bool(replace_old)}
        note_act(session, services.now(), who_here(request), "cards made", building, details)
        view = cards_in_use(session, building)
    base = f"{services.settings.base_url}/home/"
    shown = [(card.apartment, base + card.key, _qr(base + card.key)) for card in cards]
    words = {language: page_words(language) for language in LANGUAGES}
    return render(
        "home/templates/cards_print.html", view=view, cards=shown, words=words, door="desk"
    )


def _qr(address: str) -> Markup:
    """The code as a drawing; medium correction, because a card gets dirty."""
    drawn = segno.make(address, error="m", micro=False).svg_inline(
        border=4, omitsize=True, dark="#000", light="#fff", svgclass="qr"
    )
    return Markup(drawn)  # noqa: S704 - drawn by us from an address without markup
