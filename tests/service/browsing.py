"""A real Chromium on a real port, for every browser test of the service.

A browser test names the pages it opens in a tuple ``BROWSED`` of declared paths; the page inventory
(``pages/test_page_inventory.py``) fails for a page that no browser test names.
"""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from fastapi import FastAPI
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from whole_service import Running

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session

CHROMIUM = Path("/usr/bin/chromium")
AXE = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


def app_of(service: Running) -> FastAPI:
    """The application of a service that is running."""
    found: FastAPI = service._client._transport.app  # type: ignore[attr-defined]
    return found


@contextlib.contextmanager
def on_a_port(app: FastAPI) -> Iterator[str]:
    """The address of an application that is running already."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port = listener.getsockname()[1]
        config = uvicorn.Config(
            app, log_level="critical", lifespan="off", timeout_graceful_shutdown=1
        )
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


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One Chromium for a module."""
    if not CHROMIUM.exists():
        pytest.skip("needs /usr/bin/chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync"],
        )
        yield started
        started.close()


def violations(page: Page, *rules: str) -> list[tuple[str, list[str]]]:
    """What axe finds against WCAG 2.2 A and AA and best practice, or against some rules alone."""
    options = {"runOnly": {"type": "rule", "values": list(rules)}} if rules else AXE
    found = Axe().run(page, options=options).response["violations"]
    return [(v["id"], [node["html"] for node in v["nodes"]]) for v in found]


def signed_in(
    chromium: Browser, service: Running, address: str, role: Role, **more: Any
) -> BrowserContext:
    """A browser of somebody with a session; whoever asks closes it."""
    with service.services.db.transaction() as session:
        secret = open_session(session, role, service.services.now())
    made = chromium.new_context(**{"viewport": {"width": 1280, "height": 800}, **more})
    made.add_cookies([{"name": COOKIE, "value": secret, "url": address}])
    return made
