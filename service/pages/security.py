"""The headers every answer carries: no inline script, no framing, no leaks by referrer.

Style comes from files; inside the truck's pages also from the two sheets whose hashes are named.
"""

from __future__ import annotations

from functools import cache

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.pages.statics import inline_style_source

__all__ = ["CONTENT_POLICY", "HEADERS", "SecurityHeaders", "truck_policy"]

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)

HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "Strict-Transport-Security": "max-age=31536000",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "strict-origin-when-cross-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), camera=(), microphone=()",
    "X-XSS-Protection": "0",
    "X-Robots-Tag": "noindex",
}
_FOR_FILES = (
    "Strict-Transport-Security",
    "X-Content-Type-Options",
    "Cross-Origin-Resource-Policy",
)


@cache
def truck_policy() -> str:
    """The content policy of the truck's pages, which carry their style with them."""
    sheets = " ".join(inline_style_source(name) for name in ("truck.css", "work.css"))
    return CONTENT_POLICY.replace("style-src 'self'", f"style-src 'self' {sheets}")


class SecurityHeaders:
    """ASGI middleware that adds the set to every HTTP answer."""

    def __init__(self, app: ASGIApp) -> None:
        """Wrap an application."""
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add the headers to what comes back."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                if "immutable" in headers.get("cache-control", ""):
                    # Style, script and pictures that are files: the rest speaks of pages, and
                    # over a poor link twenty files would carry it twenty times.
                    headers.update({name: HEADERS[name] for name in _FOR_FILES})
                    await send(message)
                    return
                headers.update(HEADERS)
                # Such an address holds a secret until it is used, which must not travel. Not
                # "no-referrer": browsers then say "Origin: null" when the form is sent (Fetch,
                # "append a request Origin header"), and those that know no Sec-Fetch-Site would
                # be taken for a forged request.
                if scope["path"].startswith(("/enter", "/choose-password")):
                    headers["Referrer-Policy"] = "strict-origin"
                # So does a tenant's page, whose forms must still say where they come from.
                if scope["path"].startswith("/home"):
                    headers["Referrer-Policy"] = "same-origin"
                if scope["path"].startswith("/truck"):
                    headers["Content-Security-Policy"] = truck_policy()
                # Tickets name homes. Only files with a hash in their address may be kept.
                if "cache-control" not in headers:
                    headers["Cache-Control"] = "no-store"
            await send(message)

        await self._app(scope, receive, send_with_headers)
