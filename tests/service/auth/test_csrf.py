"""Requests forged by other sites are refused, honest ones pass."""

from __future__ import annotations

import asyncio

import httpx
import pytest
from starlette.types import Receive, Scope, Send

from service.auth.csrf import RefuseForgedRequests, is_forged

HOST = "heat.example:8025"


@pytest.mark.parametrize(
    ("method", "site", "origin", "forged"),
    [
        ("GET", "cross-site", "https://evil.example", False),
        ("POST", "same-origin", None, False),
        ("POST", "none", None, False),
        ("POST", "cross-site", None, True),
        ("POST", "same-site", None, True),
        ("POST", "made-up", None, True),
        ("POST", "cross-site", "https://heat.example:8025", True),  # the browser's word comes first
        ("POST", None, "https://heat.example:8025", False),
        ("POST", None, "https://heat.example", True),
        ("POST", None, "https://evil.example", True),
        ("POST", None, "null", True),
        ("POST", None, "https://[broken", True),
        ("POST", None, None, False),  # no browser sends neither
        ("put", "cross-site", None, True),
        ("DELETE", "cross-site", None, True),
    ],
)
def test_the_browsers_word_decides(
    method: str, site: str | None, origin: str | None, forged: bool
) -> None:
    """Sec-Fetch-Site first, Origin where it is missing."""
    assert is_forged(method=method, sec_fetch_site=site, origin=origin, host=HOST) is forged


def test_hosts_before_a_proxy_are_ours_too() -> None:
    """Where a proxy rewrites the Host header, the public host is named."""
    origin = "https://heat.example"
    common = {"method": "POST", "sec_fetch_site": None, "origin": origin, "host": "10.0.0.5:8025"}
    assert is_forged(**common)
    assert not is_forged(**common, own_hosts=("heat.example",))


async def _app(scope: Scope, receive: Receive, send: Send) -> None:
    del scope, receive
    await send({"type": "http.response.start", "status": 204, "headers": []})
    await send({"type": "http.response.body", "body": b""})


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 204),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "cross-site", "authorization": "Bearer es_desk_x"}, 204),
        ({"sec-fetch-site": "cross-site", "authorization": "Basic eDp5"}, 403),
        ({"origin": "http://heat.example"}, 204),
        ({"origin": "http://evil.example"}, 403),
    ],
)
def test_the_middleware_answers_403(headers: dict[str, str], status: int) -> None:
    """A forged post never reaches the application; a bearer token shows it is not forged."""

    async def post() -> httpx.Response:
        transport = httpx.ASGITransport(app=RefuseForgedRequests(_app))
        async with httpx.AsyncClient(transport=transport, base_url="http://heat.example") as client:
            return await client.post("/", headers=headers)

    answer = asyncio.run(post())
    assert answer.status_code == status
    if status == 403:
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["code"] == "forged_request"
