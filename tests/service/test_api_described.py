"""The description of the interface says how calls are refused, and they are refused so."""

from __future__ import annotations

from typing import Any

from whole_service import Running

MEDIA_TYPE = "application/problem+json"  # RFC 9457, 3


def described(running: Running) -> dict[str, Any]:
    """The OpenAPI document."""
    found: dict[str, Any] = running.call("GET", "/openapi.json").json()
    return found


def test_every_call_of_the_interface_says_how_it_is_refused(empty: Running) -> None:
    """Without a token, with a wrong one, with a wrong body: each a problem document and nothing else."""
    paths = described(empty)["paths"]
    calls = [
        call
        for path, methods in paths.items()
        if path.startswith("/api/v1/")
        for call in methods.values()
    ]

    assert calls
    for call in calls:
        refusals = {s: r for s, r in call["responses"].items() if not s.startswith("2")}
        assert refusals.keys() >= {"401", "403", "404", "409", "422", "503"}
        assert all(list(r["content"]) == [MEDIA_TYPE] for r in refusals.values())


def test_a_refusal_has_the_described_form(empty: Running) -> None:
    """What is said to be required is there, and each error points somewhere."""
    call = described(empty)["paths"]["/api/v1/texts"]["post"]
    schema = call["responses"]["422"]["content"][MEDIA_TYPE]["schema"]

    answer = empty.call("POST", "/api/v1/texts", "gateway", json={"id": 1})

    assert (answer.status_code, answer.headers["content-type"]) == (422, MEDIA_TYPE)
    told = answer.json()
    assert set(schema["required"]) <= told.keys() <= set(schema["properties"])
    assert isinstance(told["status"], int)
    error = schema["properties"]["errors"]["items"]
    assert told["errors"]
    assert all(set(error["required"]) <= e.keys() for e in told["errors"])
