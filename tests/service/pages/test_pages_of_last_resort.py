"""Where no page answers for itself, somebody at a browser still reads what to do."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from service.api.problems import LimitsAndLastResort
from service.pages import page_for

BROWSER = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}


@pytest.mark.parametrize(
    ("path", "status", "says", "leads"),
    [
        ("/nope", 404, "No page has this address.", 'href="/"'),
        ("/desk/tikets", 404, "No page has this address.", 'href="/desk"'),
        ("/desk/tickets/t_1/hold", 405, "send it from there", 'href="/desk"'),
    ],
)
def test_an_address_without_a_page_is_answered_with_one(
    service: Any, path: str, status: int, says: str, leads: str
) -> None:
    """A person reads where to go on; a program gets a problem document, also under the same path."""
    page = service.call("GET", path, headers=BROWSER)
    assert (page.status_code, page.headers["content-type"]) == (status, "text/html; charset=utf-8")
    assert says in page.text
    assert leads in page.text
    assert "default-src" in page.headers["content-security-policy"]
    for address, headers in ((path, {}), (f"/api/v1{path}", BROWSER)):
        other = service.call("GET", address, headers=headers)
        assert other.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("path", "accept", "kind"),
    [
        ("/desk", b"text/html", b"text/html; charset=utf-8"),
        ("/desk", b"*/*", b"application/problem+json"),
        ("/api/v1/tickets", b"text/html", b"application/problem+json"),
    ],
)
def test_what_nobody_foresaw_is_a_page_for_browsers(path: str, accept: bytes, kind: bytes) -> None:
    """It says that it has been noted and what to do, and nothing of what went wrong."""
    sent: list[dict[str, Any]] = []

    async def broken(*_: object) -> None:
        raise ValueError("Wanda wrote this")

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request", "body": b"", "more_body": False}

    scope = {
        "type": "http",
        "method": "GET",
        "path": path,
        "query_string": b"",
        "headers": [(b"accept", accept)],
    }
    asyncio.run(LimitsAndLastResort(broken, page_for)(scope, receive, send))
    start, body = sent
    assert (start["status"], dict(start["headers"])[b"content-type"]) == (500, kind)
    assert b"Wanda" not in body["body"]
    assert b"has been noted" in body["body"]
