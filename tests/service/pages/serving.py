"""Rendered pages on a real loopback port, with the static files, the headers and a live line."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Iterator, Mapping
from typing import Any

from browsing import on_a_port
from fastapi import FastAPI
from fastapi.responses import HTMLResponse, StreamingResponse

from service.pages import SecurityHeaders
from service.pages.statics import router as statics


class Shelf:
    """What each address shows; a test may change it while a browser looks at it."""

    def __init__(self, pages: Mapping[str, str], *, beats: bool = True) -> None:
        self.pages = dict(pages)
        self.asked: list[str] = []
        self.beats = beats
        self._said: list[str] = []

    def say(self, name: str, **data: Any) -> None:
        """Send an event down the live line of every page that is open."""
        self._said.append(f"event: {name}\ndata: {json.dumps(data)}\n\n")

    async def line(self) -> AsyncIterator[str]:
        """The live line of one page."""
        if self.beats:
            yield 'event: beat\ndata: {"now": "2026-01-14T23:40:00+00:00"}\n\n'
        told = 0
        while True:
            await asyncio.sleep(0.02)
            for event in self._said[told:]:
                yield event
            told = len(self._said)


def _application(shelf: Shelf) -> FastAPI:
    app = FastAPI()
    app.include_router(statics)

    @app.get("/desk/changes")
    async def changes() -> StreamingResponse:
        return StreamingResponse(shelf.line(), media_type="text/event-stream")

    @app.get("/desk/session")
    def session() -> dict[str, int]:
        return {"seconds": 3600}

    @app.get("/{path:path}", response_class=HTMLResponse)
    def page(path: str) -> HTMLResponse:
        shelf.asked.append(path)
        html = shelf.pages.get(path)
        return HTMLResponse(html or "nothing here", status_code=200 if html else 404)

    app.add_middleware(SecurityHeaders)
    return app


@contextlib.contextmanager
def served(shelf: Shelf) -> Iterator[str]:
    """The address of a server that shows the shelf."""
    with on_a_port(_application(shelf)) as address:
        yield address
