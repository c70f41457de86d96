"""The description of the interface: every call, and how it is refused; and they are refused so."""

from __future__ import annotations

from typing import Any

from whole_service import Running

MEDIA_TYPE = "application/problem+json"  # RFC 9457, 3


def described(running: Running) -> dict[str, Any]:
    """The OpenAPI document."""
    found: dict[str, Any] = running.call("GET", "/openapi.json").json()
    return found


def test_the_description_names_every_call(empty: Running) -> None:
    """OpenAPI has each call of the contract, with the body of those that take one."""
    paths = empty.call("GET", "/openapi.json").json()["paths"]

    described = {(method.upper(), path) for path, methods in paths.items() for method in methods}
    assert ("POST", "/api/v1/texts") in described
    assert ("PUT", "/api/v1/buildings/{building}") in described
    assert ("POST", "/api/v1/tickets/{ticket}/findings") in described
    text = paths["/api/v1/texts"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert {"id", "from", "text"} <= set(text["required"])


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
