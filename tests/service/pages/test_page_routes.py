"""The pages of a whole running service: getting in, looking, measuring, closing, getting out."""

from __future__ import annotations

import base64
import hashlib
import re
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

import pytest
from httpx import Response

from service.auth.links import issue_link
from service.auth.roles import Role
from service.pages.security import HEADERS

HTML = "text/html; charset=utf-8"
COLD = "no heat at all, it is freezing"


def link(service: Any, role: Role) -> str:
    """A fresh sign-in address."""
    with service.services.db.transaction() as session:
        return f"/enter/{issue_link(session, role, service.services.now())}"


def sign_in(service: Any, role: Role) -> Response:
    """Through the door, cookie kept."""
    answer = service.call("POST", link(service, role))
    assert answer.status_code == 303
    return answer  # type: ignore[no-any-return]


def complain(service: Any, *numbers: str) -> str:
    """Cold homes on one loop; the id of their ticket."""
    for number in numbers:
        body = {
            "id": f"page-{number}",
            "from": number,
            "to": "+12125550199",
            "text": COLD,
            "sent_at": service.services.now().isoformat(),
        }
        answer = service.call("POST", "/api/v1/texts", "gateway", json=body)
        assert answer.status_code in {200, 202}, answer.text
        if answer.status_code == 202:  # a busy machine: it is decided when the clock moves
            service.wait(seconds=1)
    tickets = service.get("/api/v1/tickets?state=open", "desk")
    found = tickets["tickets"] if isinstance(tickets, dict) else tickets
    assert found, answer
    return str(found[0]["id"])


@pytest.mark.parametrize(
    ("role", "door"), [(Role.DESK, "/desk"), (Role.TRUCK, "/truck"), (Role.OWNER, "/owner")]
)
def test_a_link_leads_to_its_door_once(service: Any, role: Role, door: str) -> None:
    """Looking uses nothing up, pressing Continue does, a second press finds a page that helps."""
    address = link(service, role)
    for _ in range(2):  # as a mail scanner and then a person would
        shown = service.call("GET", address)
        assert shown.status_code == 200
        assert "Continue" in shown.text
    entered = service.call("POST", address)
    assert (entered.status_code, entered.headers["location"]) == (303, door)
    cookie = entered.headers["set-cookie"].lower()
    assert cookie.startswith("endswitch=")
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert service.call("GET", door).status_code == 200
    again = service.call("POST", address)
    assert again.status_code == 410
    assert "This link is no longer good" in again.text
    assert "How to get a new one" in again.text


def test_old_and_invented_links_get_the_same_page(service: Any) -> None:
    """Used, too old and never given out cannot be told apart from outside."""
    old = link(service, Role.DESK)
    service.wait(hours=1)
    answers = [service.call(m, a) for m in ("GET", "POST") for a in (old, "/enter/invented")]
    assert {a.status_code for a in answers} == {410}
    assert len({a.text for a in answers}) == 1


def test_nobody_gets_in_without_a_session(service: Any) -> None:
    """Every page behind a door says how to sign in, and forms do nothing."""
    for method, path in (
        ("GET", "/desk"),
        ("GET", "/desk/tickets/t_x"),
        ("GET", "/truck"),
        ("GET", "/owner"),
        ("POST", "/truck/tickets/t_x/findings"),
        ("POST", "/truck/tickets/t_x/close"),
    ):
        answer = service.call(method, path)
        assert answer.status_code == 401
        assert "Sign in first" in answer.text


def test_each_role_has_its_own_door(service: Any) -> None:
    """A desk session cannot close tickets, and is sent to its own page."""
    sign_in(service, Role.DESK)
    answer = service.call("POST", "/truck/tickets/t_x/close")
    assert answer.status_code == 403
    assert 'href="/"' in answer.text
    home = service.call("GET", "/")
    assert (home.status_code, home.headers["location"]) == (303, "/desk")


def test_sign_out_ends_the_session(service: Any) -> None:
    """The session is gone on the server too, not only from the browser."""
    entered = sign_in(service, Role.DESK)
    secret = entered.cookies["endswitch"]
    assert service.call("GET", "/sign-out").status_code == 200
    assert service.call("GET", "/desk").status_code == 200  # looking at the button did nothing
    service.call("POST", "/sign-out")
    with_old = service.call("GET", "/desk", headers={"Cookie": f"endswitch={secret}"})
    assert with_old.status_code == 401


def test_a_forged_form_is_refused(service: Any) -> None:
    """Another site's page cannot close a ticket or sign anybody out."""
    sign_in(service, Role.TRUCK)
    answer = service.call("POST", "/sign-out", headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    assert service.call("GET", "/truck").status_code == 200


def test_every_answer_carries_the_security_headers(service: Any) -> None:
    """Pages, errors and the API; secrets in addresses never travel by referrer."""
    for path in ("/", "/desk", "/enter/x", "/nowhere", "/api/v1/tickets", "/static/0/none.css"):
        headers = service.call("GET", path).headers
        for name, value in HEADERS.items():
            if name != "Referrer-Policy":
                assert headers[name] == value, path
    assert service.call("GET", "/enter/x").headers["referrer-policy"] == "strict-origin"
    assert service.call("GET", "/desk").headers["cache-control"] == "no-store"
    assert "unsafe" not in HEADERS["Content-Security-Policy"]


def test_a_file_carries_what_protects_files(service: Any) -> None:
    """No sniffing, no use by other sites; the policy of pages would only cost bytes there."""
    css = re.search(r"/static/\S+?\.css", service.call("GET", "/").text)
    assert css is not None
    headers = service.call("GET", css[0]).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "Content-Security-Policy" not in headers


def test_the_truck_allows_just_the_style_it_carries(service: Any) -> None:
    """Each sheet inside a page is named by its SHA-256 (CSP level 3); nothing else inline runs."""
    sign_in(service, Role.TRUCK)
    page = service.call("GET", "/truck")
    policy = page.headers["Content-Security-Policy"]
    sheets = re.findall(r"<style>(.*?)</style>", page.text, re.DOTALL)
    assert sheets
    for sheet in sheets:
        digest = base64.b64encode(hashlib.sha256(sheet.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy
    assert "unsafe" not in policy


def test_static_files_are_kept_for_ever_and_only_under_their_hash(service: Any) -> None:
    """A changed file gets a new address; no other file can be reached."""
    found = re.search(r"/static/\w+/endswitch\.css", service.call("GET", "/").text)
    assert found is not None
    answer = service.call("GET", found[0])
    assert answer.status_code == 200
    assert "immutable" in answer.headers["cache-control"]
    for wrong in ("/static/0000/endswitch.css", "/static/0000/..%2f__init__.py"):
        assert service.call("GET", wrong).status_code == 404


def test_the_queue_shows_a_complaint_that_came_by_text(service: Any) -> None:
    """From a text to a row with time, reason, building and home."""
    ticket = complain(service, "+12125550120")
    sign_in(service, Role.DESK)
    page = service.call("GET", "/desk").text
    assert f"/desk/tickets/{ticket}" in page
    assert "9 Quarry Street" in page
    assert "Home 2A" in page
    assert "Too cold" in page
    filtered = service.call("GET", "/desk?building=elm-1").text
    assert f"/desk/tickets/{ticket}" not in filtered


def test_a_ticket_is_the_same_at_desk_and_truck(service: Any) -> None:
    """Both doors draw the building and quote the tenant."""
    ticket = complain(service, "+12125550120", "+12125550110")
    for role in (Role.DESK, Role.TRUCK):
        sign_in(service, role)
        page = service.call("GET", f"/{role}/tickets/{ticket}").text
        assert COLD in page
        assert 'class="building' in page
        assert page.count('class="cell ') == 8


def test_a_ticket_that_is_not_there_is_a_page(service: Any) -> None:
    """With a way back."""
    sign_in(service, Role.DESK)
    answer = service.call("GET", "/desk/tickets/t_nothing")
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/html")
    assert "Back to the queue" in answer.text


def test_what_does_not_fit_or_cannot_be_stored_now_is_a_page_too(service: Any) -> None:
    """An address with a wrong figure, and a database that somebody else is writing to."""
    ticket = complain(service, "+12125550120")
    sign_in(service, Role.ADMIN)
    wrong = service.call("GET", "/admin/audit?before=yesterday")
    assert (wrong.status_code, wrong.headers["content-type"]) == (422, HTML)
    assert "Something is missing or wrong" in wrong.text

    with service.services.db.engine.connect() as busy:
        busy.exec_driver_sql("SELECT 1")  # a writer, as every connection that begins
        address = f"/desk/tickets/{ticket}/assign"
        later = service.call("POST", address, data={"version": 1, "to": "x"})
    assert (later.status_code, later.headers["content-type"]) == (503, HTML)
    assert later.headers["retry-after"]
    assert "Not now: try again in a minute" in later.text


def _form_of(page: str) -> dict[str, str]:
    """The first finding form that asks for a value, as a browser would send it."""
    for form in re.findall(r'<form method="post" action="\S+/findings".*?</form>', page, re.DOTALL):
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
        if "unit" in hidden:
            calling = {"calling": "yes"} if 'name="calling"' in form else {}
            return {**hidden, **calling, "value": "0"}
    raise AssertionError("no check of this ticket is answered with a number")


def test_a_reading_is_taken_and_shown(service: Any) -> None:
    """POST, 303, and the page shows the reading; the same address again changes nothing."""
    ticket = complain(service, "+12125550120", "+12125550121", "+12125550110", "+12125550111")
    sign_in(service, Role.TRUCK)
    page = service.call("GET", f"/truck/tickets/{ticket}").text
    sent = service.call("POST", f"/truck/tickets/{ticket}/findings", data=_form_of(page))
    assert sent.status_code == 303, sent.text
    shown = service.call("GET", urlsplit(sent.headers["location"]).path).text
    assert "Readings so far" in shown


def test_a_reading_no_meter_shows_is_asked_again(service: Any) -> None:
    """Out of range: 422, the reason, and what was typed is still there."""
    ticket = complain(service, "+12125550120", "+12125550121", "+12125550110", "+12125550111")
    sign_in(service, Role.TRUCK)
    page = service.call("GET", f"/truck/tickets/{ticket}").text
    typed = _form_of(page) | {"value": "987654321"}
    answer = service.call("POST", f"/truck/tickets/{ticket}/findings", data=typed)
    assert answer.status_code == 422
    assert 'value="987654321"' in answer.text
    assert "<title>Error: " in answer.text


def test_closing_a_ticket(service: Any) -> None:
    """Cause, part, date; then the ticket is closed, shows no form and leaves the queue."""
    ticket = complain(service, "+12125550120")
    sign_in(service, Role.TRUCK)
    page = service.call("GET", f"/truck/tickets/{ticket}").text
    causes = re.findall(r'name="cause" value="([^"]+)"', page)
    part = re.findall(r'<option value="([^"]+)">', page.split('name="part_1"')[1])[0]
    form = {
        "cause": causes[0],
        "part_1": part,
        "quantity_1": "1",
        "installed": (service.services.now() - timedelta(days=1)).date().isoformat(),
        "note": "done",
    }
    nothing = service.call("POST", f"/truck/tickets/{ticket}/close", data=form | {"cause": ""})
    assert nothing.status_code == 422
    closed = service.call("POST", f"/truck/tickets/{ticket}/close", data=form)
    assert closed.status_code == 303
    shown = service.call("GET", closed.headers["location"]).text
    assert "<strong>Closed</strong>" in shown
    assert '<form method="post"' not in shown
    assert ticket not in service.call("GET", "/truck").text
    twice = service.call("POST", f"/truck/tickets/{ticket}/close", data=form)
    assert twice.status_code == 409
    assert "The ticket is closed already." in twice.text
    stored = service.get(f"/api/v1/tickets/{ticket}", "desk")["closure"]
    assert stored["note"] == "done"
    assert stored["parts"] == [{"part": part, "quantity": 1}]


def test_the_owner_sees_buildings_with_open_tickets(service: Any) -> None:
    """Name, trouble and time, and nobody's words."""
    complain(service, "+12125550120")
    sign_in(service, Role.OWNER)
    page = service.call("GET", "/owner").text
    assert "9 Quarry Street" in page
    assert COLD not in page
