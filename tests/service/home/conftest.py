"""A service on a real port for a browser, its time moved by hand."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, sync_playwright

CHROMIUM = Path("/usr/bin/chromium")


@contextlib.contextmanager
def on_a_port(app: FastAPI) -> Iterator[str]:
    """The address of an application that is running already."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port = listener.getsockname()[1]
        config = uvicorn.Config(app, log_level="critical", lifespan="off")
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
