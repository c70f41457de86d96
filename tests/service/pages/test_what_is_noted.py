"""Numbers that are shown, the audit log, and what of staff's work is noted there."""

from __future__ import annotations

import re

from devices import everything_noted, noted, person, signed_in
from whole_service import Running

from service.auth.roles import Role

TENANT = "+12125550120"


def test_the_audit_page_goes_back_in_time(empty: Running) -> None:
    """Newest first, fifty a page."""
    person(empty, "boss", Role.ADMIN)
    person(empty, "moreno", Role.DESK)
    admin = signed_in(empty, "boss")
    for _ in range(26):
        admin.post("/admin/accounts/moreno/off")
        admin.post("/admin/accounts/moreno/on")
    page = admin.get("/admin/audit").text
    assert [int(n) for n in re.findall(r'<li value="(\d+)"', page)] == list(range(52, 2, -1))
    older = re.findall(r'href="(/admin/audit\?before=\d+)"', page)[0]
    assert [int(n) for n in re.findall(r'<li value="(\d+)"', admin.get(older).text)] == [2, 1]
    assert "Boss" in page


def test_a_number_is_shown_to_the_desk_by_a_press_and_noted(service: Running) -> None:
    """On the answering page alone; never to the truck; not by opening an address; counted."""
    complaint = service.text(TENANT, "no heat at all, it is freezing")["complaint"]
    person(service, "moreno", Role.DESK)
    person(service, "okafor", Role.TRUCK)
    desk, truck = signed_in(service, "moreno"), signed_in(service, "okafor")
    address = f"/desk/complaints/{complaint}/number"
    assert desk.get(address).status_code == 405
    assert truck.post(address).status_code == 403
    shown = desk.post(address)
    assert f'href="tel:{TENANT}"' in shown.text
    assert shown.headers["cache-control"] == "no-store"
    assert noted(service)[-1] == ("moreno", "number shown", complaint)
    assert TENANT[-4:] not in everything_noted(service)
    assert desk.post("/desk/complaints/c_none/number").status_code == 404
    for _ in range(29):
        assert desk.post(address).status_code == 200
    assert desk.post(address).status_code == 429
    service.wait(hours=1)
    desk.sign_in("moreno")
    assert desk.post(address).status_code == 200


def test_a_program_of_the_desk_is_shown_a_number_as_its_pages_are(service: Running) -> None:
    """A complaint says how the number ends; the whole one is asked for, counted and noted."""
    complaint = service.text(TENANT, "no heat at all, it is freezing")["complaint"]
    address = f"/api/v1/complaints/{complaint}"
    assert service.get(address, "desk")["from"] == f"ends in {TENANT[-2:]}"
    assert TENANT[-7:] not in service.call("GET", address, "desk").text
    shown = service.call("POST", f"{address}/number", "desk")
    assert shown.json() == {"complaint": complaint, "number": TENANT}
    assert noted(service)[-1] == ("token:desk:2", "number shown", complaint)
    for _ in range(29):
        service.call("POST", f"{address}/number", "desk")
    refused = service.call("POST", f"{address}/number", "desk")
    assert (refused.status_code, refused.json()["title"]) == (429, "Enough for now")
    assert service.call("POST", "/api/v1/complaints/c_none/number", "desk").status_code == 404


def test_who_lists_the_inbox_is_noted_once_an_hour(service: Running) -> None:
    """Senders stand there whole, for those who check that no text was lost."""
    service.text(TENANT, "no heat at all, it is freezing")

    def times() -> int:
        return noted(service).count(("token:desk:2", "numbers listed", "inbox"))

    for _ in range(3):
        assert service.get("/api/v1/inbox", "desk")["messages"][0]["from"] == TENANT
    assert times() == 1
    service.wait(hours=1)
    service.get("/api/v1/inbox", "desk")
    assert times() == 2


def test_no_page_of_the_truck_or_the_desk_shows_a_whole_number(service: Running) -> None:
    """Neither the number nor its last seven digits, whatever the door; the desk sees how it ends."""
    ticket = service.text(TENANT, "no heat at all, it is freezing")["ticket"]
    service.wait(hours=1)
    person(service, "moreno", Role.DESK)
    person(service, "okafor", Role.TRUCK)
    desk, truck = signed_in(service, "moreno"), signed_in(service, "okafor")
    pages = [
        desk.get("/desk"),
        desk.get(f"/desk/tickets/{ticket}"),
        truck.get("/truck"),
        truck.get(f"/truck/tickets/{ticket}"),
    ]
    for page in pages:
        assert page.status_code == 200, page.url
        assert TENANT[-7:] not in re.sub(r"[\s().-]", "", page.text)
    program = service.call("GET", f"/api/v1/tickets/{ticket}", "truck")
    assert TENANT[-7:] not in program.text


def test_what_staff_do_is_noted(service: Running) -> None:
    """By page and by program: findings, closes, alerts, confirmed senders, news, cards."""
    texted = service.text("+12125550199", "no heat in 2A, 9 Quarry Street, and I smell gas")
    complaint, ticket = texted["complaint"], service.text(TENANT, "no heat at all")["ticket"]
    person(service, "moreno", Role.DESK)
    person(service, "okafor", Role.TRUCK)
    desk, truck = signed_in(service, "moreno"), signed_in(service, "okafor")
    service.text("+12125550131", "it smells of gas here")
    alert, another = (row["id"] for row in service.get("/api/v1/alerts", "desk")[:2])
    finding = {"test": "lever_feel", "component": "2A.valve", "outcome": "firm"}
    closing = {"fault": None, "component": None, "parts": [], "installed": None, "note": "x"}
    news = {"id": "n-1", "texts": {"en": "We are on it.", "es": "Estamos en ello."}}
    for role, path, body in (
        ("truck", f"/api/v1/tickets/{ticket}/findings", finding),
        ("desk", f"/api/v1/alerts/{alert}/acknowledge", None),
        ("desk", f"/api/v1/complaints/{complaint}/confirm", None),
        ("desk", "/api/v1/buildings/quarry-9/broadcast", news),
        ("truck", f"/api/v1/tickets/{ticket}/close", closing),
    ):
        answer = service.call("POST", path, role, json=body)
        assert answer.status_code == 200, answer.text
    assert desk.post(f"/desk/alerts/{another}/acknowledge").status_code == 303
    assert desk.post(f"/desk/alerts/{alert}/acknowledge").status_code == 303  # seen before
    assert desk.post("/desk/buildings/quarry-9/cards").status_code == 200
    other = service.text("+12125550130", "no heat at all")["ticket"]
    page = truck.get(f"/truck/tickets/{other}").text
    asked = re.search(
        r'name="test" value="(\w+)">\s*<input type="hidden" name="component" value="([^"]+)">'
        r'(?:(?!</form>).)*?name="outcome" value="(\w+)"',
        page,
        re.DOTALL,
    )
    assert asked is not None
    typed = dict(zip(("test", "component", "outcome"), asked.groups(), strict=True))
    taken = truck.post(f"/truck/tickets/{other}/findings", **typed)
    assert taken.status_code == 303
    found = {(account, act) for account, act, _ in noted(service)}
    assert {
        ("token:truck:3", "finding recorded"),
        ("token:desk:2", "alert acknowledged"),
        ("token:desk:2", "sender confirmed"),
        ("token:desk:2", "news sent"),
        ("token:truck:3", "ticket closed"),
        ("moreno", "alert acknowledged"),
        ("moreno", "cards made"),
        ("okafor", "finding recorded"),
    } <= found
    assert [act for _, act, _ in noted(service)].count("alert acknowledged") == 2
    assert [act for _, act, _ in noted(service)].count("sender confirmed") == 1
    words = everything_noted(service)
    assert "5550" not in words
    assert "gas" not in words


def test_no_free_words_of_a_closing_come_into_the_log(service: Running) -> None:
    """Where nobody knows the building, what stands for a component may be anything: a name, a number."""
    ticket = service.text("+12125550199", "too cold in here")["ticket"]
    closing = {"fault": None, "component": "ask Rosa in 2B", "note": "ask Rosa in 2B"}
    closed = service.call("POST", f"/api/v1/tickets/{ticket}/close", "truck", json=closing)
    assert closed.status_code == 200, closed.text
    assert noted(service)[-1] == ("token:truck:3", "ticket closed", ticket)
    assert "Rosa" not in everything_noted(service)
