"""Log lines without people in them, requests with an id, metrics of one application."""

from __future__ import annotations

import asyncio
import io
import json
import logging
from collections.abc import Iterator

import httpx
import pytest
import structlog
from fastapi import APIRouter, FastAPI

from service.auth.roles import Role
from service.telemetry.logs import setup_logging, where
from service.telemetry.metrics import CONTENT_TYPE, Metrics
from service.telemetry.redaction import redacted
from service.telemetry.requests import RequestLog

SPELLINGS = [
    "+12125550123",
    "12125550123",
    "2125550123",
    "(212) 555-0123",
    "212-555-0123",
    "212.555.0123",
    "+1 212 555 0123",
    "from=2125550123;",
    "number_2125550123",
    "2125550123@sms.example",
]


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What is logged as JSON; logging is put back afterwards."""
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    stream = io.StringIO()
    setup_logging("json", stream)
    logging.getLogger("httpx").setLevel(logging.WARNING)  # the test's client, not ours
    yield stream
    root.handlers[:] = handlers
    root.setLevel(level)
    structlog.reset_defaults()


def _fail(error: Exception) -> None:
    raise error


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_numbers_never_reach_the_log(written: io.StringIO, spelling: str) -> None:
    """In the event, in a value, deep inside, from a library, in an exception's words."""
    log = structlog.get_logger("test")
    event = f"got {spelling}"
    log.info(event, other=spelling, deep={"a": [{"b": f"x {spelling}"}]})
    log.info("named", number="anything", text="no heat in 4B", name="Anna")
    logging.getLogger("somebody.else").warning("peer %s", spelling)
    try:
        _fail(ValueError(f"cannot text {spelling}"))
    except ValueError:
        log.exception("failed")
        logging.getLogger("somebody.else").exception("also failed")
    lines = [json.loads(line) for line in written.getvalue().splitlines()]
    assert len(lines) == 5
    # The time a line was written may hold any digits.
    said = str([{key: line[key] for key in line if key != "timestamp"} for line in lines])
    for piece in ("555", "0123", "Anna", "4B", "cannot text"):
        assert piece not in said
    assert "ValueError" in said


def test_facts_that_only_look_like_numbers_stay() -> None:
    """Times, ids, counts and short numbers are what a log is for."""
    facts = {
        "at": "2026-01-10T01:00:00+00:00",
        "message": "m_7f3kqrs2x9ab",
        "took_ms": 12.345678901234,
        "count": 12345,
        "status": 200,
        "ok": True,
        "nothing": None,
    }
    assert redacted(facts) == facts


def test_tokens_are_cut_out() -> None:
    """A bearer token in a message or under a key is gone."""
    for role in Role:
        assert redacted(f"used es_{role}_AbC-123_x today") == "used [token] today"
    assert redacted({"authorization": "Bearer x", "Cookie": "endswitch=x"}) == {
        "authorization": "[left out]",
        "Cookie": "[left out]",
    }


def test_an_error_is_told_by_its_kind_and_place() -> None:
    """Enough to find it, nothing of what it says."""
    try:
        _fail(RuntimeError("no heat in 4B"))
    except RuntimeError as error:
        told = where(error)
    assert told.startswith("RuntimeError at test_telemetry.py:")
    assert where(RuntimeError("never raised")) == "RuntimeError"


def test_lines_for_a_terminal_are_redacted_too() -> None:
    """The console form has the same rules."""
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    stream = io.StringIO()
    try:
        setup_logging("console", stream)
        structlog.get_logger("test").info("hello", other="+12125550123")
    finally:
        root.handlers[:] = handlers
        root.setLevel(level)
        structlog.reset_defaults()
    assert "hello" in stream.getvalue()
    assert "0123" not in stream.getvalue()


def _application(metrics: Metrics) -> RequestLog:
    app, router = FastAPI(), APIRouter()

    @router.get("/enter/{secret}")
    def enter(secret: str) -> dict[str, int]:
        return {"length": len(secret)}

    @router.get("/broken")
    def broken() -> None:
        raise RuntimeError("no heat in 4B")

    app.include_router(router, prefix="/pages")
    return RequestLog(app, metrics)


def _get(app: RequestLog, *paths: str, request_id: str | None = None) -> list[httpx.Response]:
    async def get() -> list[httpx.Response]:
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        headers = {"x-request-id": request_id} if request_id else {}
        async with httpx.AsyncClient(transport=transport, base_url="http://t.example") as client:
            return [await client.get(path, headers=headers) for path in paths]

    return asyncio.run(get())


def test_requests_are_logged_by_template_and_counted(written: io.StringIO) -> None:
    """The secret in an address reaches neither the log nor the metrics."""
    metrics = Metrics()
    _get(_application(metrics), "/pages/enter/made-up-secret", "/pages/broken", "/none")
    lines = [json.loads(line) for line in written.getvalue().splitlines()]
    requests = [line for line in lines if line["event"] == "request"]
    assert [(line["route"], line["status"]) for line in requests] == [
        ("/pages/enter/{secret}", 200),
        ("/pages/broken", 500),
        ("unmatched", 404),
    ]
    assert len({line["request_id"] for line in requests}) == 3
    shown = metrics.exposition().decode()
    assert (
        'http_requests_total{method="GET",route="/pages/enter/{secret}",status="200"} 1.0' in shown
    )
    assert "made-up-secret" not in written.getvalue() + shown


def test_a_sensible_request_id_is_taken_over_and_another_is_not(written: io.StringIO) -> None:
    """An id from a proxy is kept; one with anything odd in it is replaced."""
    app = _application(Metrics())
    (kept,) = _get(app, "/none", request_id="abcd-1234")
    (made,) = _get(app, "/none", request_id="a b\t<x>")
    assert kept.headers["x-request-id"] == "abcd-1234"
    assert made.headers["x-request-id"] not in {"", "a b\t<x>"}
    assert '"request_id": "abcd-1234"' in written.getvalue()


def test_every_application_counts_for_itself() -> None:
    """Two registries do not meet, and all the names are there from the start."""
    one, other = Metrics(), Metrics()
    one.inbound_total.labels("smtp", "read").inc()
    one.inbound_to_answer_seconds.observe(0.2)
    assert 'inbound_total{result="read",via="smtp"} 1.0' in one.exposition().decode()
    shown = other.exposition().decode()
    assert 'via="smtp"' not in shown
    for name in (
        "inbound_total",
        "inbound_to_answer_seconds",
        "outbox_pending",
        "timers_late_seconds",
        "tickets_open",
        "http_requests_total",
    ):
        assert f"# TYPE {name} " in shown
    assert CONTENT_TYPE.startswith("text/plain")
