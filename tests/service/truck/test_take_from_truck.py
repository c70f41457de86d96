"""Entries of phones: once, in order, never lost; and what a phone may carry."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from evening_of_a_truck import HOT_WORDS, Truck, truck_service
from PIL import Image

from rules.checks.tools import tools_for
from service.auth.sessions import COOKIE


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Truck]:
    """One evening for all tests of this module; each uses entries of its own."""
    with truck_service(tmp_path_factory.mktemp("truck")) as made:
        yield made


def sent(truck: Truck, ticket: str, kind: str, body: dict[str, Any], **more: Any) -> dict[str, Any]:
    """An entry as a phone sends it; the answer."""
    entry = {
        "id": str(uuid4()),
        "ticket": ticket,
        "kind": kind,
        "body": body,
        "entered_at": "2026-01-09T23:50:00+00:00",
        **more,
    }
    answer = truck.service.call(
        "POST",
        "/truck/arrivals",
        json=entry,
        headers={"Cookie": f"{COOKIE}={truck.secret()}", "Sec-Fetch-Site": "same-origin"},
    )
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def page(truck: Truck, path: str) -> str:
    """A page as the technician gets it."""
    cookie = {"Cookie": f"{COOKIE}={truck.secret()}"}
    answer = truck.service.call("GET", path, headers=cookie)
    assert answer.status_code == 200, answer.text
    return answer.text


FIRM = {"check": "lever_feel", "component": "4B.valve", "outcome": "firm"}


def test_an_entry_counts_once_however_often_it_is_sent(truck: Truck) -> None:
    """A lost answer makes the phone send again: the same answer, one finding, one arrival."""
    ticket = truck.ticket("4B")["id"]
    once = str(uuid4())

    first = sent(truck, ticket, "reading", FIRM, id=once)
    again = sent(truck, ticket, "reading", FIRM, id=once)

    assert first["state"] == again["state"] == "taken"
    assert (first["duplicate"], again["duplicate"]) == (False, True)
    assert [f["outcome"] for f in truck.findings(ticket)].count("firm") == 1
    cookie = {"Cookie": f"{COOKIE}={truck.secret()}"}
    sheet = truck.service.call("GET", f"/truck/worksheets/{ticket}", headers=cookie).json()
    assert once in sheet["arrived"]
    assert "lever_feel 4B.valve" in sheet["sheet"]["made"]


def test_what_no_instrument_shows_is_kept_and_said_so(truck: Truck) -> None:
    """A reading that is refused stays in the ticket's history with the reason."""
    ticket = truck.ticket("4B")["id"]
    body = {"check": "motor_volts", "component": "4B.valve", "value": 900, "unit": "V"}

    answer = sent(truck, ticket, "reading", body)

    assert answer["state"] == "aside"
    assert "outside what the instrument can show" in answer["says"]
    history = truck.service.get(f"/api/v1/tickets/{ticket}", "desk")["history"]
    assert any(e["what"] == "kept_aside" and e["body"]["body"]["value"] == 900 for e in history)


def test_a_note_and_a_photo_arrive(truck: Truck) -> None:
    """The note stands in the history; the photo is made anew from its pixels."""
    ticket = truck.ticket("4B")["id"]
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(picture, "JPEG")

    note = sent(truck, ticket, "note", {"text": "Valve tag missing"})
    photo = sent(truck, ticket, "photo", {"picture": base64.b64encode(picture.getvalue()).decode()})
    broken = sent(truck, ticket, "photo", {"picture": "bm8gcGljdHVyZQ=="})

    assert (note["state"], photo["state"], broken["state"]) == ("taken", "taken", "aside")
    says = [e["says"] for e in truck.service.get(f"/api/v1/tickets/{ticket}", "desk")["history"]]
    assert "Note: Valve tag missing" in says
    assert "A technician sent a photo" in says


def test_for_a_ticket_that_is_closed_nothing_is_lost(truck: Truck) -> None:
    """The answer says that it was closed; the reading is in its history. An unknown ticket likewise."""
    ticket = truck.ticket("1A")["id"]
    closing = {"fault": None, "component": None, "parts": [], "installed": None, "note": "done"}
    path = f"/api/v1/tickets/{ticket}/close"
    assert truck.service.call("POST", path, "truck", json=closing).status_code == 200

    late = sent(
        truck, ticket, "reading", {"check": "coil_volts", "component": "relay-1", "value": 25}
    )
    unknown = sent(truck, "t_zzzzzzzzzzzz", "note", {"text": "for nobody"})

    assert late["state"] == "aside"
    assert "was closed meanwhile" in late["says"]
    history = truck.service.get(f"/api/v1/tickets/{ticket}", "desk")["history"]
    assert any(e["what"] == "kept_aside" for e in history)
    assert (unknown["state"], unknown["ticket"]) == ("aside", None)


@pytest.mark.parametrize(
    "entry",
    [
        [],
        {"id": "1", "kind": "note", "ticket": "t_1", "body": {}},
        {"id": str(uuid4()), "kind": "poem", "ticket": "t_1", "body": {}},
        {"id": str(uuid4()), "kind": "note", "ticket": "t_1", "body": {}, "entered_at": "now"},
    ],
)
def test_what_is_no_entry_is_refused(truck: Truck, entry: Any) -> None:
    """422, so that the phone does not try for ever."""
    headers = {"Cookie": f"{COOKIE}={truck.secret()}", "Sec-Fetch-Site": "same-origin"}
    answer = truck.service.call("POST", "/truck/arrivals", json=entry, headers=headers)
    assert answer.status_code == 422


def test_what_somebody_else_has_entered_is_not_taken_as_ones_own(truck: Truck) -> None:
    """409: the phone keeps it until its own person signs in; without that word anybody's is taken."""
    ticket = truck.ticket("4B")["id"]
    headers = {"Cookie": f"{COOKIE}={truck.secret()}", "Sec-Fetch-Site": "same-origin"}
    entry = {
        "id": str(uuid4()),
        "ticket": ticket,
        "kind": "note",
        "body": {"text": "whose is this"},
        "entered_at": "2026-01-09T23:50:00+00:00",
        "keeper": "0123456789abcdef",
    }
    refused = truck.service.call("POST", "/truck/arrivals", json=entry, headers=headers)
    assert refused.status_code == 409
    assert "whose is this" not in page(truck, f"/truck/tickets/{ticket}")
    mine = truck.service.call("GET", "/truck/carried", headers=headers).json()["keeper"]
    for keeper in (mine, "", None):
        entry |= {"id": str(uuid4()), "keeper": keeper}
        taken = truck.service.call("POST", "/truck/arrivals", json=entry, headers=headers)
        assert taken.json()["state"] == "taken"


def test_what_a_phone_carries_names_nobody(truck: Truck) -> None:
    """Carried pages and worksheets hold no message, name or number; the full page quotes."""
    ticket = truck.ticket("4B")["id"]
    whole = page(truck, f"/truck/tickets/{ticket}")
    kept = page(truck, f"/truck/carried/{ticket}") + page(truck, f"/truck/worksheets/{ticket}")
    kept += page(truck, "/truck") + page(truck, "/truck/carried")

    assert "call Rosa at 212 555 0142" in whole
    assert HOT_WORDS not in kept
    for personal in ("Rosa", "555 0142", "5550142", "+1212555", "Household 4B"):
        assert personal not in kept


def test_the_day_has_stops_and_one_load(truck: Truck) -> None:
    """One stop for the building, its tickets in order, and the parts with the stop they are for."""
    html = page(truck, "/truck")

    assert html.count("<h2>9 Quarry Street</h2>") == 1
    assert "Load for the day" in html
    load = html.partition("Load for the day")[2]
    assert "; stop 1: " in load
    tools = load.partition("Tools for the checks")[2].partition('tools">')[2].partition(".")[0]
    checks = [check["test"] for check in truck.ticket("4B")["checks"]]
    assert tools_for(checks)
    assert {tool.lower() for tool in tools_for(checks)} <= set(tools.lower().split(", "))


def test_a_note_needs_no_script(truck: Truck) -> None:
    """The form posts, an empty note is said to be missing."""
    ticket = truck.ticket("4B")["id"]
    headers = {"Cookie": f"{COOKIE}={truck.secret()}", "Sec-Fetch-Site": "same-origin"}
    path = f"/truck/tickets/{ticket}/notes"

    kept = truck.service.call("POST", path, data={"text": "Key at the super"}, headers=headers)
    empty = truck.service.call("POST", path, data={"text": " "}, headers=headers)

    assert kept.status_code == 303
    assert empty.status_code == 422
    assert "Write the note first." in empty.text
