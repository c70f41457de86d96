"""A tenant's photo, for staff who work on the ticket and for nobody else."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from service.auth.roles import Role
from service.errors import ForbiddenError, NotFoundError, UnauthorizedError
from service.pages.access import PageRoute, role_here, services_of
from service.usecases.home.web_photos import photo_bytes

__all__ = ["router"]

router = APIRouter(route_class=PageRoute, include_in_schema=False)
_STAFF = frozenset({Role.DESK, Role.TRUCK, Role.ADMIN})


@router.get("/photos/{photo_id}")
def photo(request: Request, photo_id: str) -> Response:
    """The picture as a plain JPEG; the type is ours, whatever was sent.

    Raises:
        UnauthorizedError: nobody is signed in.
        ForbiddenError: somebody is, who does not work on tickets.
        NotFoundError: there is no such photo.
    """
    role = role_here(request)
    if role is None:
        raise UnauthorizedError("You are not signed in on this device.")
    if role not in _STAFF:
        raise ForbiddenError("This picture is for those who work on the ticket.")
    with services_of(request).db.reading() as session:
        content = photo_bytes(session, photo_id)
    if content is None:
        raise NotFoundError("There is no such photo.")
    headers = {"Content-Disposition": "inline", "Cache-Control": "private, no-store"}
    return Response(content, media_type="image/jpeg", headers=headers)
