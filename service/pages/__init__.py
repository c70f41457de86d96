"""The doors for people: desk, truck, owner, home, and the way in. Rendered here, no script needed."""

from __future__ import annotations

from functools import cache

from fastapi import APIRouter

from service.pages.access import page_for
from service.pages.admin.reveal import router as reveal
from service.pages.admin.routes import router as admin
from service.pages.desk.acts import router as acts
from service.pages.desk.calls import router as calls
from service.pages.desk.export import router as export
from service.pages.desk.routes import router as desk
from service.pages.desk.staying import router as staying
from service.pages.desk.talk_acts import router as talk_acts
from service.pages.entry.account import router as account
from service.pages.entry.password import router as password
from service.pages.entry.routes import router as entry
from service.pages.home.cards import router as cards
from service.pages.home.danger import router as danger
from service.pages.home.photos import router as photos
from service.pages.home.routes import router as home
from service.pages.owner.heat import router as heat
from service.pages.owner.routes import router as owner
from service.pages.repairs.closing import router as closing
from service.pages.repairs.components import router as components
from service.pages.repairs.turns import router as turns
from service.pages.security import SecurityHeaders
from service.pages.statics import router as statics
from service.pages.truck.arrivals import router as arrivals
from service.pages.truck.routes import router as truck
from service.pages.truck.shell import router as shell

__all__ = ["SecurityHeaders", "make_pages", "page_for"]


@cache
def make_pages() -> APIRouter:
    """Every page and static file, shared like the routes for programs.

    The application adds ``SecurityHeaders`` around all of it.
    """
    pages = APIRouter()
    for part in (
        statics,
        entry,
        password,
        account,
        admin,
        reveal,
        desk,
        export,
        staying,
        acts,
        calls,
        talk_acts,
        truck,
        arrivals,
        shell,
        closing,
        turns,
        components,
        owner,
        heat,
        danger,
        home,
        cards,
        photos,
    ):
        pages.include_router(part)
    return pages
