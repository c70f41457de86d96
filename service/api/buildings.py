"""Buildings, households and weather."""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter, Depends, Request

from service.api.access import allowed, services_of
from service.api.bodies import WeatherBody, checked, described, json_body
from service.auth.policies import Act
from service.errors import InvalidError, PointedError
from service.usecases.hearing.catch_up import catch_up
from service.usecases.loading.load_building import load_building
from service.usecases.loading.load_households import load_households
from service.usecases.loading.put_weather import put_weather

__all__ = ["buildings_router"]

STATION = re.compile(r"[A-Za-z0-9_.-]{1,64}")


def buildings_router() -> APIRouter:
    """The routes of the owner."""
    router = APIRouter(tags=["buildings"])
    _add_buildings(router)
    _add_weather(router)
    return router


def _add_buildings(router: APIRouter) -> None:
    keep = [Depends(allowed(Act.KEEP_BUILDINGS))]

    @router.put(
        "/buildings/{building}", dependencies=keep, openapi_extra=described({"type": "object"})
    )
    def put_building(
        request: Request, building: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Store a building file, or answer with everything that is wrong with it."""
        services = services_of(request)
        now = services.now()
        with services.db.transaction() as session:
            warnings = load_building(session, now, building, body)
        catch_up(services, now, building=building)
        return {"building": building, "warnings": [w.to_dict() for w in warnings]}

    rows = {"type": "array", "items": {"type": "object"}}

    @router.put(
        "/buildings/{building}/households", dependencies=keep, openapi_extra=described(rows)
    )
    def put_households(
        request: Request, building: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Replace the list of who lives in a building and how to reach them."""
        services = services_of(request)
        with services.db.transaction() as session:
            warnings = load_households(session, building, body)
        return {"building": building, "warnings": [w.to_dict() for w in warnings]}


def _add_weather(router: APIRouter) -> None:
    @router.put(
        "/weather/{station}",
        dependencies=[Depends(allowed(Act.KEEP_WEATHER))],
        openapi_extra=described(WeatherBody),
    )
    def put_station(
        request: Request, station: str, body: Any = Depends(json_body)
    ) -> dict[str, Any]:
        """Store observed and forecast outdoor temperatures."""
        if not STATION.fullmatch(station):
            wrong = PointedError("/station", "holds letters, digits, dot, dash and underscore")
            raise InvalidError("this is no name of a station", (wrong,))
        weather = checked(WeatherBody, body)
        services = services_of(request)
        with services.db.transaction() as session:
            stored = put_weather(session, station, [(h.at, h.outdoor_f) for h in weather.hours])
        catch_up(services, services.now(), station=station)
        return {"station": station, "hours": stored}
