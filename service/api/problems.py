"""Every error as ``application/problem+json``, and never a stack trace."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import structlog
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from sqlalchemy.exc import IntegrityError, OperationalError
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.errors import BodyTooLargeError, EndswitchError, PointedError, problem
from service.telemetry.logs import where

__all__ = ["LimitsAndLastResort", "add_problem_handlers"]

log = structlog.get_logger("endswitch.api")

LARGEST_BODY = 1024 * 1024
# Photos may have 12 MB; whoever sends somewhat more is told so in words.
LARGEST_PHOTO_BODY = 16 * 1024 * 1024
_PHOTO_PATH = re.compile(r"/home/[^/]{1,80}/photo|/truck/tickets/[^/]{1,80}/close")
MEDIA_TYPE = "application/problem+json"
RETRY_SECONDS = 5
CODES = {
    400: "bad_request",
    401: "unauthorized",
    403: "forbidden",
    404: "not_found",
    405: "method_not_allowed",
    413: "body_too_large",
}


# A page for people of a path and a status.
Page = Callable[[str, int], str]


def add_problem_handlers(app: FastAPI, page: Page) -> None:
    """Give every expected error its answer; a browser that asked for a page gets one."""

    @app.exception_handler(EndswitchError)
    def _expected(_request: Request, error: EndswitchError) -> JSONResponse:
        return _answer(error.status, error.code, error.message, error.errors)

    @app.exception_handler(RequestValidationError)
    def _invalid(_request: Request, error: RequestValidationError) -> JSONResponse:
        wrong = [
            PointedError("".join(f"/{step}" for step in e["loc"][1:]), str(e["msg"]))
            for e in error.errors()
        ]
        return _answer(422, "invalid", "the request is refused", wrong)

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        if _wants_page(request):
            said = page(request.url.path, error.status_code)
            return HTMLResponse(said, error.status_code, error.headers)
        code = CODES.get(error.status_code, "error")
        answer = _answer(error.status_code, code, str(error.detail))
        answer.headers.update(error.headers or {})
        return answer


def _wants_page(request: Request) -> bool:
    """Whether a browser has asked, and not for what programs ask for."""
    return "text/html" in request.headers.get("accept", "") and not request.url.path.startswith(
        "/api/"
    )


def _answer(
    status: int, code: str, detail: str, errors: Sequence[PointedError] = ()
) -> JSONResponse:
    headers = {}
    if status == 401:
        headers["WWW-Authenticate"] = "Bearer"
    elif status == 403:
        headers["WWW-Authenticate"] = 'Bearer error="insufficient_scope"'
    elif status == 503:
        headers["Retry-After"] = str(RETRY_SECONDS)
    body = problem(status, code, _sayable(detail), [_clean(e) for e in errors])
    return JSONResponse(body, status_code=status, headers=headers, media_type=MEDIA_TYPE)


def _clean(error: PointedError) -> PointedError:
    return PointedError(_sayable(error.pointer), _sayable(error.detail))


def _sayable(text: str) -> str:
    """Text that can be sent: what callers send may come back in an error."""
    return text.encode("utf-8", "replace").decode()[:1000]


class LimitsAndLastResort:
    """ASGI middleware: refuses large bodies and answers for whatever nobody else has caught."""

    def __init__(self, app: ASGIApp, page: Page) -> None:
        """Wrap an application."""
        self._app, self._page = app, page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = False

        async def noting(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, _limited(scope, receive), noting)
        except BodyTooLargeError as error:
            answer = _answer(error.status, error.code, error.message)
        except (OperationalError, IntegrityError) as error:
            # Locked, full, or somebody else wrote the same at the same moment: nothing was stored.
            log.warning("database_not_ready", error=where(error))
            answer = _answer(503, "try_later", "the database cannot take it now")
        except Exception as error:  # noqa: BLE001 - the last resort
            # Not with the exception itself: its words may quote a tenant.
            log.critical("request_failed", error=where(error))
            answer = _answer(500, "error", "something broke here; it has been noted")
        else:
            return
        if started:
            return
        request = Request(scope)
        if _wants_page(request):
            said = self._page(request.url.path, answer.status_code)
            kept = {k: v for k, v in answer.headers.items() if k == "retry-after"}
            await HTMLResponse(said, answer.status_code, kept)(scope, receive, send)
            return
        await answer(scope, receive, send)


def _limited(scope: Scope, receive: Receive) -> Receive:
    """The body, up to the limit."""
    photo = _PHOTO_PATH.fullmatch(scope["path"]) is not None
    largest = LARGEST_PHOTO_BODY if photo else LARGEST_BODY
    taken = 0

    async def limited() -> Message:
        nonlocal taken
        if _declared(scope) > largest:
            raise BodyTooLargeError(f"the body is larger than {largest // 1024**2} MB")
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > largest:
            raise BodyTooLargeError(f"the body is larger than {largest // 1024**2} MB")
        return message

    return limited


def _declared(scope: Scope) -> int:
    for name, value in scope["headers"]:
        if name == b"content-length" and value.isdigit() and len(value) < 20:
            return int(value)
    return 0
