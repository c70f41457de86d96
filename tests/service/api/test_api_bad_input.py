"""Whatever is sent, the answer is a problem in words, never a crash."""

from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone
from typing import Any

import pytest
from whole_service import BUILDING, Running, building_document

from service.api.bodies import MOST_HOURS

DEEP = "[" * 100_000
BAD_BODIES = [
    pytest.param(b"", id="nothing"),
    pytest.param(b"{", id="cut off"),
    pytest.param(b"\xff\xfe\x00", id="no text"),
    pytest.param(DEEP.encode(), id="100,000 brackets"),
    pytest.param(b'{"now": NaN}', id="NaN"),
    pytest.param(b'{"now": 1e999}', id="infinity"),
    pytest.param(b'{"now": ' + b"9" * 5000 + b"}", id="5,000 digits"),
    pytest.param(b"null", id="null"),
    pytest.param(b"[]", id="a list"),
    pytest.param(b'"text"', id="a word"),
    pytest.param(b"1", id="a number"),
    pytest.param(b"{}", id="an empty object"),
    pytest.param(b'{"id": 1, "from": [], "text": {}, "now": {}, "hours": 3}', id="wrong types"),
    pytest.param(b'{"\\ud800": "\\ud800", "building": "\\ud800"}', id="lone surrogates"),
    pytest.param(b'{"\\u0000": "\\u0000"}', id="NUL"),
]
ROUTES = [
    ("POST", "/api/v1/texts", "gateway"),
    ("POST", "/api/v1/readings", "desk"),
    ("PUT", f"/api/v1/buildings/{BUILDING}", "owner"),
    ("PUT", f"/api/v1/buildings/{BUILDING}/households", "owner"),
    ("PUT", "/api/v1/weather/kqry", "owner"),
    ("PUT", "/api/v1/clock", "owner"),
    ("POST", "/api/v1/tickets/t_none/findings", "truck"),
    ("POST", "/api/v1/tickets/t_none/close", "truck"),
]


def assert_problem(answer: Any, *statuses: int) -> dict[str, Any]:
    """The answer is problem+json with one of these statuses, and no trace of code."""
    assert answer.status_code in statuses, (answer.status_code, answer.text)
    assert answer.headers["content-type"] == "application/problem+json"
    assert "Traceback" not in answer.text
    found: dict[str, Any] = answer.json()
    assert found["status"] == answer.status_code
    assert found["detail"]
    return found


@pytest.mark.parametrize(("method", "path", "role"), ROUTES)
def test_bad_bodies_are_refused_in_words(empty: Running, method: str, path: str, role: str) -> None:
    """Each route refuses each bad body with 422, 404 or 409."""
    for param in BAD_BODIES:
        body: bytes = param.values[0]  # type: ignore[assignment]
        headers = {"Content-Type": "application/json"}
        answer = empty.call(method, path, role, content=body, headers=headers)
        if path.endswith("households") and body == b"[]":
            body_is_fine = answer.status_code == 404  # no such building yet
            assert body_is_fine
        assert_problem(answer, 422, 404, 409)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"id": ""}, "/id"),
        ({"id": 5}, "/id"),
        ({"id": None}, "/id"),
        ({"from": ""}, "/from"),
        ({"from": "SHOP"}, "/from"),
        ({"from": "12345"}, "/from"),
        ({"from": "911"}, "/from"),
        ({"from": True}, "/from"),
        ({"text": None}, "/text"),
        ({"text": 7}, "/text"),
        ({"sent_at": "yesterday"}, "/sent_at"),
        ({"sent_at": "2026-01-09T20:00:00"}, "/sent_at"),
        ({"sent_at": "0001-01-01T00:00:00+14:00"}, "/sent_at"),
        ({"sent_at": 1767990000}, "/sent_at"),
    ],
)
def test_a_wrong_field_of_a_text_is_pointed_at(
    empty: Running, change: dict[str, Any], pointer: str
) -> None:
    """The problem names the field, and nothing is stored."""
    body = {"id": "x", "from": "+12125550110", "to": "y", "text": "hi", "sent_at": None} | change

    answer = empty.call("POST", "/api/v1/texts", "gateway", json=body)

    found = assert_problem(answer, 422)
    assert [e["pointer"] for e in found["errors"]] == [pointer]
    assert empty.get("/api/v1/inbox", "desk")["messages"] == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        " \n\t ",
        "\U0001f976" * 70,
        "\u0000",
        "\ud83d",
        "\u200b\u202e\ufeff",
        "x" * 10_000,
        "no heat " * 2_000,
        "{{7*7}} '; DROP TABLE inbox; --",
        "1",
        "0",
        "-1",
        "１",
    ],
)
def test_any_text_gets_a_clear_answer(service: Running, text: str) -> None:
    """Empty, huge, pictures only, broken characters: the tenant gets words back, and is stored."""
    raw = json.dumps({"id": "odd", "from": "+12125550110", "to": "", "text": text})

    answer = service.call(
        "POST",
        "/api/v1/texts",
        "gateway",
        content=raw,
        headers={"Content-Type": "application/json"},
    )

    assert answer.status_code == 200, answer.text
    assert answer.json()["replies"][0]["text"]
    assert service.get("/api/v1/inbox", "desk")["messages"][0]["state"] == "read"


def test_a_body_over_a_megabyte_is_refused(empty: Running) -> None:
    """2 MB of JSON is too large, whether it says so or not."""
    body = json.dumps({"id": "x", "from": "+12125550110", "text": "x" * 2_000_000})
    headers = {"Content-Type": "application/json"}

    told = empty.call("POST", "/api/v1/texts", "gateway", content=body, headers=headers)

    async def dripped() -> Any:
        for start in range(0, len(body), 100_000):
            yield body[start : start + 100_000].encode()

    untold = empty.call("POST", "/api/v1/texts", "gateway", content=dripped(), headers=headers)

    assert_problem(told, 413)
    assert_problem(untold, 413)


@pytest.mark.parametrize(
    "path",
    [
        "/nowhere",
        "/api/v1/tickets/t_%00",
        "/api/v1/tickets/..%2f..%2fetc",
        "/api/v1/tickets/" + "9" * 5000,
        "/api/v1/complaints/%F0%9F%A5%B6",
    ],
)
def test_unknown_addresses_are_problems_too(empty: Running, path: str) -> None:
    """404 has the same shape as every other error."""
    assert_problem(empty.call("GET", path, "desk"), 404)


def test_a_wrong_method_is_a_problem_too(empty: Running) -> None:
    """405 has the same shape, and names what is allowed."""
    answer = empty.call("DELETE", "/api/v1/tickets", "desk")

    assert_problem(answer, 405)
    assert "GET" in answer.headers["allow"]


@pytest.mark.parametrize(
    "query",
    ["state=ajar", "limit=x", "state=open&state=closed", "building=%00", "building=" + "x" * 300],
)
def test_odd_queries_of_tickets_never_break(empty: Running, query: str) -> None:
    """A query is either refused with 422 or gives a list."""
    answer = empty.call("GET", f"/api/v1/tickets?{query}", "desk")

    assert answer.status_code in {200, 422}


@pytest.mark.parametrize("after", ["-1", "x", "9" * 30, "1e5", "%00"])
def test_a_made_up_cursor_is_refused(empty: Running, after: str) -> None:
    """Only cursors from `next` are taken."""
    assert_problem(empty.call("GET", f"/api/v1/inbox?after={after}", "desk"), 422)


def test_all_problems_of_a_building_come_at_once(empty: Running) -> None:
    """A file with two mistakes is answered with a pointer to each."""
    document = building_document()
    document["timezone"] = "US/Nowhere"
    document["loops"][0]["source"] = "boiler-9"

    answer = empty.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document)

    pointers = {e["pointer"] for e in assert_problem(answer, 422)["errors"]}
    assert {"/timezone", "/loops/0/source"} <= pointers


def test_a_building_under_another_name_is_refused(empty: Running) -> None:
    """The id in the address and the one in the file must agree."""
    answer = empty.call("PUT", "/api/v1/buildings/other", "owner", json=building_document())

    assert assert_problem(answer, 422)["errors"][0]["pointer"] == "/building"


def test_as_many_hours_as_are_taken_fit_in_a_body(empty: Running) -> None:
    """Written as widely as JSON is; one hour more is refused by its number, not by its size."""
    start = datetime(2025, 1, 1, tzinfo=timezone(timedelta(hours=-5)))
    hours = [
        {
            "at": (start + timedelta(hours=n)).isoformat(timespec="microseconds"),
            "outdoor_f": 20 + 1 / 3,
        }
        for n in range(MOST_HOURS + 1)
    ]
    headers = {"Content-Type": "application/json"}
    for some, status in ((hours[:-1], 200), (hours, 422)):
        wide = json.dumps({"hours": some}, indent=2)
        put = empty.call("PUT", "/api/v1/weather/kqry", "owner", content=wide, headers=headers)
        assert put.status_code == status, put.text
    assert [e["pointer"] for e in put.json()["errors"]] == ["/hours"]


def test_weather_out_of_this_world_is_refused(empty: Running) -> None:
    """500 degrees is a mistake, and the hour it stands in is named."""
    hours = [
        {"at": "2026-01-09T20:00:00Z", "outdoor_f": 20},
        {"at": "2026-01-09T21:00:00Z", "outdoor_f": 500},
    ]

    answer = empty.call("PUT", "/api/v1/weather/kqry", "owner", json={"hours": hours})

    assert assert_problem(answer, 422)["errors"][0]["pointer"] == "/hours/1/outdoor_f"
