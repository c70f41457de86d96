"""The desk says which home a report of an unknown phone is about."""

from __future__ import annotations

from typing import Any

import pytest
from at_the_desk import homes_by_ticket, says
from repairs.at_work import sign_in
from whole_service import KeepingGateway, Running, mobile

from service.auth.roles import Role

STRANGER = "+12125550188"


def place(service: Running, report: dict[str, Any], **form: str) -> Any:
    """Send the form under the conversation."""
    sign_in(service, Role.DESK)
    path = f"/desk/complaints/{report['complaint']}/place"
    return service.call("POST", path, data={"ticket": report["ticket"], **form})


@pytest.fixture
def report(service: Running) -> dict[str, Any]:
    """Somebody is cold, nobody knows where; they were asked."""
    answer = service.text(STRANGER, "no heat, 58 degrees in here")
    assert "live" in answer["replies"][0]["text"]
    return answer


def test_a_report_gets_its_home_and_the_talk_goes_on(
    service: Running, gateway: KeepingGateway, report: dict[str, Any]
) -> None:
    """ "#2-b" is 2B; its facts count there, the talk goes on, the sender is to be confirmed."""
    answer = place(service, report, building="quarry-9", apartment="#2-b")

    assert answer.status_code == 303, answer.text
    assert list(homes_by_ticket(service).values()) == [["2B"]]
    (ticket,) = homes_by_ticket(service)
    found = service.get(f"/api/v1/tickets/{ticket}", "desk")
    assert [found["building"], found["unconfirmed"]] == ["quarry-9", [report["complaint"]]]
    assert found["suspects"]
    assert any(line.endswith("2B named as the home of a report") for line in says(service, ticket))
    service.wait(minutes=1)
    asked = [text.text for text in gateway.sent if text.to == STRANGER]
    assert len(asked) >= 2
    assert "live" not in asked[-1]
    audit = service.call("GET", answer.headers["location"]).text
    assert "Sender not confirmed" in audit


def test_a_home_that_has_reported_already_is_no_second_ticket(
    service: Running, report: dict[str, Any]
) -> None:
    """What both say is of one home: one ticket holds it."""
    service.text(mobile("2B"), "its cold")
    place(service, report, building="quarry-9", apartment="2B")
    assert list(homes_by_ticket(service).values()) == [["2B"]]


def test_a_danger_gets_its_home_and_nobody_is_asked_anything(
    service: Running, gateway: KeepingGateway
) -> None:
    """The ticket stays a danger; a household told to leave is not asked how warm it is."""
    report = service.text(STRANGER, "I smell gas in the kitchen")
    before = len(gateway.sent)
    place(service, report, building="quarry-9", apartment="3A")
    service.wait(minutes=2)
    ticket = service.only_ticket()
    assert [ticket["danger"], ticket["apartments"]] == [True, ["3A"]]
    assert len([text for text in gateway.sent[before:] if text.to == STRANGER]) <= 1


def test_a_home_that_is_not_there_is_refused_with_what_is(
    service: Running, report: dict[str, Any]
) -> None:
    """Nothing changes, what was typed stays, and a home once known is not changed this way."""
    for form, told in (
        ({"building": "", "apartment": "2B"}, "the building is not chosen"),
        ({"building": "quarry-9", "apartment": "99Z"}, "not in this building, which has 1A, 1B"),
    ):
        answer = place(service, report, **form)
        assert answer.status_code == 422
        assert told in answer.text
        assert f'value="{form["apartment"]}"' in answer.text
    assert list(homes_by_ticket(service).values()) == [[]]
    place(service, report, building="quarry-9", apartment="2B")
    again = place(service, report, building="quarry-9", apartment="1A")
    assert (again.status_code, "is known already: 2B" in again.text) == (409, True)


def test_a_program_names_a_home_as_the_desk_does(service: Running, report: dict[str, Any]) -> None:
    """The answer is the ticket; what is not there is pointed at."""
    path = f"/api/v1/complaints/{report['complaint']}/place"
    wrong = service.call("POST", path, "desk", json={"building": "quarry-9", "apartment": "9Z"})
    assert [e["pointer"] for e in wrong.json()["errors"]] == ["/apartment"]
    placed = service.call("POST", path, "desk", json={"building": "quarry-9", "apartment": "2B"})
    assert (placed.status_code, placed.json()["apartments"]) == (200, ["2B"])


def test_a_home_that_nobody_knows_is_no_stop_of_the_day(
    service: Running, report: dict[str, Any]
) -> None:
    """A technician cannot drive there; it is named apart until the desk knows, a danger at once."""
    sign_in(service, Role.TRUCK)
    before = service.call("GET", "/truck").text
    assert "The desk asks where it is: 1" in before
    assert "<h2>Home not known yet</h2>" not in before
    service.text("+12125550187", "I smell gas in the kitchen")
    assert "<h2>Home not known yet</h2>" in service.call("GET", "/truck").text
    place(service, report, building="quarry-9", apartment="2B")
    sign_in(service, Role.TRUCK)
    assert "The desk asks where it is" not in service.call("GET", "/truck").text
