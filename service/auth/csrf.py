"""Refuses requests that another site made a signed-in browser send.

Browsers say where a request comes from, in Sec-Fetch-Site or else in Origin. A program that sends
neither has no cookies it did not put there itself. A bearer token cannot be added by another site,
so requests that carry one are not looked at.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from service.errors import problem

__all__ = ["RefuseForgedRequests", "is_forged"]

_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


def is_forged(
    *,
    method: str,
    sec_fetch_site: str | None,
    origin: str | None,
    host: str | None,
    own_hosts: Collection[str] = (),
) -> bool:
    """Whether the request comes from a page of somebody else's.

    ``own_hosts`` are hosts (with port) people reach us under when a proxy changes the Host header.
    """
    if method.upper() in _SAFE_METHODS:
        return False
    if sec_fetch_site is not None:
        return sec_fetch_site.strip().lower() not in {"same-origin", "none"}
    if origin is None:
        return False
    try:
        came_from = urlsplit(origin.strip()).netloc.lower()
    except ValueError:
        return True
    ours = {one.lower() for one in (host, *own_hosts) if one}
    return came_from == "" or came_from not in ours


class RefuseForgedRequests:
    """ASGI middleware around the whole application."""

    def __init__(self, app: ASGIApp, own_hosts: Collection[str] = ()) -> None:
        """Protect ``app``."""
        self._app = app
        self._own_hosts = tuple(own_hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on or answer 403."""
        if scope["type"] == "http" and self._refuses(scope):
            await _forbidden(send)
            return
        await self._app(scope, receive, send)

    def _refuses(self, scope: Scope) -> bool:
        headers = Headers(scope=scope)
        if headers.get("authorization", "").lower().startswith("bearer "):
            return False
        return is_forged(
            method=scope["method"],
            sec_fetch_site=headers.get("sec-fetch-site"),
            origin=headers.get("origin"),
            host=headers.get("host"),
            own_hosts=self._own_hosts,
        )


async def _forbidden(send: Send) -> None:
    detail = "this request came from another site"
    body = json.dumps(problem(403, "forged_request", detail)).encode()
    headers = [
        (b"content-type", b"application/problem+json"),
        (b"content-length", str(len(body)).encode()),
    ]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": body})
