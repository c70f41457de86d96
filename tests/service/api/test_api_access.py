"""Who may call what, and what is open to all."""

from __future__ import annotations

import pytest
from whole_service import Running

ALLOWED = [
    ("PUT", "/api/v1/buildings/x", {"owner"}),
    ("PUT", "/api/v1/buildings/x/households", {"owner"}),
    ("PUT", "/api/v1/weather/x", {"owner"}),
    ("POST", "/api/v1/texts", {"gateway"}),
    ("POST", "/api/v1/readings", {"desk"}),
    ("GET", "/api/v1/inbox", {"desk"}),
    ("GET", "/api/v1/complaints/x", {"desk"}),
    ("GET", "/api/v1/tickets", {"desk", "truck"}),
    ("GET", "/api/v1/tickets/x", {"desk", "truck"}),
    ("POST", "/api/v1/tickets/x/findings", {"truck"}),
    ("POST", "/api/v1/tickets/x/close", {"truck"}),
    ("GET", "/api/v1/clock", {"owner"}),
    ("PUT", "/api/v1/clock", {"owner"}),
]
ROLES = ("gateway", "desk", "truck", "owner")


@pytest.mark.parametrize(("method", "path", "roles"), ALLOWED)
def test_each_call_is_for_its_roles_alone(
    empty: Running, method: str, path: str, roles: set[str]
) -> None:
    """Other roles get 403, nobody gets 401, and the right role gets past the door."""
    for role in ROLES:
        answer = empty.call(method, path, role, content=b"{}")
        assert (answer.status_code == 403) == (role not in roles), (role, answer.text)
        if role not in roles:
            assert answer.headers["content-type"] == "application/problem+json"
            assert "WWW-Authenticate" in answer.headers

    nobody = empty.call(method, path, content=b"{}")
    assert nobody.status_code == 401
    assert nobody.headers["WWW-Authenticate"] == "Bearer"
    assert nobody.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("header", ["Bearer es_owner_wrong", "Bearer ", "Basic eDp5", "es_owner"])
def test_a_made_up_token_opens_nothing(empty: Running, header: str) -> None:
    """An unknown token is answered like none."""
    answer = empty.call("GET", "/api/v1/tickets", headers={"Authorization": header})

    assert answer.status_code == 401


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/metrics", "/openapi.json"])
def test_operations_need_no_token(empty: Running, path: str) -> None:
    """Health, metrics and the description of the interface are open."""
    assert empty.call("GET", path).status_code == 200


def test_readiness_names_what_it_looked_at(empty: Running) -> None:
    """Each thing the service needs is listed by name."""
    answer = empty.call("GET", "/readyz").json()

    assert answer["ready"]
    assert set(answer["checks"]) == {"database", "schema", "disk", "jobs"}
