"""Why a ticket is due, once it is: its reasons go on with what the household tells."""

from __future__ import annotations

from typing import Any

from whole_service import Running, cold_weather, mobile


def ticket_of(service: Running, told: dict[str, Any]) -> dict[str, Any]:
    """The ticket of a text's answer as it stands."""
    found: dict[str, Any] = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    return found


def rules_of(ticket: dict[str, Any]) -> list[str]:
    """The reasons in words."""
    return [b["rule"] for b in ticket["because"]]


def test_what_gets_worse_is_told_on_a_ticket_that_is_due_already(service: Running) -> None:
    """New York City asks for 68 F at 7 pm (Administrative Code 27-2029), so 67 F is due at once.

    55 F with somebody of 88 is worse: the ticket must say so, though it cannot be due any earlier.
    """
    told = service.text(mobile("1A"), "a bit chilly, 67")
    before = ticket_of(service, told)
    assert "67 F" in rules_of(before)[0]

    service.wait(minutes=5)
    service.text(mobile("1A"), "now it is 55 in here and my grandma is 88")
    after = ticket_of(service, told)

    assert after["respond_by"] == before["respond_by"]
    assert "55 F" in rules_of(after)[0]
    assert not any("67 F" in rule for rule in rules_of(after))
    assert any("older people" in rule for rule in rules_of(after))
    kept = {b["rule"]: b["at"] for b in before["because"]}
    assert all(b["at"] == kept.get(b["rule"], b["at"]) for b in after["because"])


def test_what_made_a_ticket_due_stays_on_it_when_it_eases(service: Running) -> None:
    """It was due, and nobody has come: a warmer room gives later reasons more time, not the ticket."""
    told = service.text(mobile("1A"), "a bit chilly, 67")
    before = ticket_of(service, told)

    # At 20 F outdoors the room is forecast to pass the law's 68 F; on a mild evening 76 F lasts.
    mild = {"hours": [{**h, "outdoor_f": 66} for h in cold_weather()["hours"]]}
    assert service.call("PUT", "/api/v1/weather/kqry", "owner", json=mild).status_code == 200
    service.wait(minutes=5)
    service.text(mobile("1A"), "76 degrees in here now but the radiator is still cold")
    after = ticket_of(service, told)

    assert after["respond_by"] == before["respond_by"]
    assert min(b["at"] for b in after["because"]) == after["respond_by"]
    assert rules_of(after)[0] == rules_of(before)[0]
    assert len(after["because"]) > 1
