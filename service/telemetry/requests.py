"""An id for every request, one log line and one count for every answer.

The route's template is logged and counted, never the address itself, which may hold a secret.
"""

from __future__ import annotations

import re
import secrets
import time

import structlog
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.telemetry.metrics import Metrics

__all__ = ["RequestLog"]

_GIVEN_ID = re.compile(r"[A-Za-z0-9-]{8,64}")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH"})
_log = structlog.get_logger("endswitch.http")


class RequestLog:
    """ASGI middleware, the outermost."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        """Watch ``app`` and count in ``metrics``."""
        self._app = app
        self._metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        given = Headers(scope=scope).get("x-request-id", "")
        request_id = given if _GIVEN_ID.fullmatch(given) else secrets.token_hex(8)
        status = 500  # when the application ends without an answer

        async def send_with_id(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)["x-request-id"] = request_id
            await send(message)

        started = time.perf_counter()
        with structlog.contextvars.bound_contextvars(request_id=request_id):
            try:
                await self._app(scope, receive, send_with_id)
            finally:
                self._note(scope, status, time.perf_counter() - started)

    def _note(self, scope: Scope, status: int, took_seconds: float) -> None:
        route = _template(scope)
        method = scope["method"] if scope["method"] in _METHODS else "OTHER"
        self._metrics.http_requests_total.labels(route, method, str(status)).inc()
        _log.info(
            "request",
            route=route,
            method=method,
            status=status,
            took_ms=round(took_seconds * 1000, 1),
        )


def _template(scope: Scope) -> str:
    """The path as it was declared; with an included router the framework keeps it elsewhere."""
    included = scope.get("fastapi", {}).get("effective_route_context")
    declared = getattr(included, "path", None) or getattr(scope.get("route"), "path", None)
    if declared:
        return str(declared)
    return "mounted" if "endpoint" in scope else "unmatched"
