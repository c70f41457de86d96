"""A Chromium for measurements and pictures, and a browser in it that is signed in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

from browsing import CHROMIUM
from playwright.sync_api import Browser, BrowserContext, sync_playwright

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session
from service.usecases.rows.services import Services

__all__ = ["chromium", "signed_in"]


@contextmanager
def chromium() -> Iterator[Browser]:
    """The system's Chromium, without a window.

    Raises:
        FileNotFoundError: there is none.
    """
    if not CHROMIUM.exists():
        raise FileNotFoundError(f"{CHROMIUM} is missing; on Debian or Ubuntu: apt install chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync"],
        )
        try:
            yield started
        finally:
            started.close()


@contextmanager
def signed_in(
    browser: Browser,
    services: Services,
    address: str,
    role: Role,
    account: str | None = None,
    **more: Any,
) -> Iterator[BrowserContext]:
    """A browser with nothing in its caches and with a session of its own."""
    with services.db.transaction() as session:
        secret = open_session(session, role, services.now(), account)
    context = browser.new_context(**{"viewport": {"width": 1280, "height": 800}, **more})
    try:
        host = str(urlsplit(address).hostname)
        context.add_cookies([{"name": COOKIE, "value": secret, "domain": host, "path": "/"}])
        yield context
    finally:
        context.close()
