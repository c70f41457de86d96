"""Rendered pages on a real loopback port, with the static files and the security headers."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Iterator, Mapping

import uvicorn
from fastapi import FastAPI
from fastapi.responses import HTMLResponse

from service.pages import SecurityHeaders
from service.pages.statics import router as statics


class Shelf:
    """What each address shows; a test may change it while a browser looks at it."""

    def __init__(self, pages: Mapping[str, str]) -> None:
        self.pages = dict(pages)
        self.posted: list[str] = []


def _application(shelf: Shelf) -> FastAPI:
    app = FastAPI()
    app.include_router(statics)

    @app.get("/{path:path}", response_class=HTMLResponse)
    def page(path: str) -> HTMLResponse:
        html = shelf.pages.get(path)
        return HTMLResponse(html or "nothing here", status_code=200 if html else 404)

    app.add_middleware(SecurityHeaders)
    return app


@contextlib.contextmanager
def served(shelf: Shelf) -> Iterator[str]:
    """The address of a server that shows the shelf."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port = listener.getsockname()[1]
        config = uvicorn.Config(_application(shelf), log_level="critical", lifespan="off")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        deadline = time.monotonic() + 10
        while not server.started:
            assert time.monotonic() < deadline, "the page server did not start"
            thread.join(0.01)
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            server.should_exit = True
            thread.join(10)
