"""The JSON interface, version 1."""

from __future__ import annotations

from functools import cache

from fastapi import APIRouter

from service.api.acts import acts_router
from service.api.buildings import buildings_router
from service.api.clock import clock_router
from service.api.complaints import complaints_router
from service.api.desk import desk_router
from service.api.health import health_router
from service.api.refusals import REFUSALS
from service.api.texts import texts_router
from service.api.tickets import tickets_router

__all__ = ["make_api"]


@cache
def make_api() -> APIRouter:
    """Every route for programs; they hold no state, so that all applications of a process share them."""
    router = APIRouter()
    v1 = APIRouter(prefix="/api/v1", responses=REFUSALS)
    parts = (
        buildings_router,
        texts_router,
        complaints_router,
        tickets_router,
        desk_router,
        acts_router,
        clock_router,
    )
    for part in parts:
        v1.include_router(part())
    router.include_router(v1)
    router.include_router(health_router())
    return router
