"""Characters that no database can hold, at every kind of door and on each database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.auth.roles import Role
from service.auth.sessions import open_session
from service.clock import ManualClock

HALF = "\\ud83d"  # as JSON spells half a pair
REPLACED = "\ufffd"
AT_DOORS = [
    ("GET", "/api/v1/tickets/%00", "desk", None),
    ("GET", "/api/v1/tickets?building=%00", "desk", None),
    ("POST", "/api/v1/complaints/%00/take-over", "desk", None),
    ("GET", "/desk/tickets/%00", None, None),
    ("POST", "/desk/tickets/{ticket}/assign", None, "version={version}&to=%00"),
    ("POST", "/desk/tickets/{ticket}/merge", None, "version={version}&into=%00"),
]


@pytest.fixture
def anywhere(migrated_url: str, tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A filled service on either database."""
    with running(settings_for(tmp_path, migrated_url), ManualClock(EVENING), gateway) as service:
        fill(service)
        yield service


def cookie(service: Running, role: Role) -> dict[str, str]:
    """The header of somebody who is signed in."""
    with service.services.db.transaction() as session:
        return {"Cookie": f"endswitch={open_session(session, role, EVENING)}"}


def test_a_note_with_half_a_character_leaves_the_ticket_readable(anywhere: Running) -> None:
    """What a phone sends from its store cannot make a ticket that nobody can open any more."""
    ticket = anywhere.text(mobile("1A"), "no heat")["ticket"]
    note = (
        f'{{"id": "{uuid4()}", "kind": "note", "ticket": "{ticket}", '
        f'"entered_at": "2026-01-10T00:00:00Z", "body": {{"text": "done {HALF}"}}}}'
    )

    taken = anywhere.call(
        "POST", "/truck/arrivals", content=note.encode(), headers=cookie(anywhere, Role.TRUCK)
    )

    assert taken.json()["state"] == "taken"
    shown = anywhere.get(f"/api/v1/tickets/{ticket}", "desk")
    assert f"done {REPLACED}" in shown["history"][-1]["says"]


def test_an_act_with_such_characters_is_done_without_them(anywhere: Running) -> None:
    """The reason for a hold is shown with the sign for a character that was lost."""
    ticket = anywhere.text(mobile("1A"), "no heat")["ticket"]
    for odd in (HALF, "\\u0000"):
        version = anywhere.get(f"/api/v1/tickets/{ticket}", "desk")["version"]
        body = f'{{"version": {version}, "until": "2026-01-12T00:00:00Z", "reason": "part {odd}"}}'

        held = anywhere.call(
            "POST", f"/api/v1/tickets/{ticket}/hold", "desk", content=body.encode()
        ).json()

        assert held["hold_reason"] == f"part {REPLACED}"


def test_a_nul_in_an_address_or_a_form_is_no_crash(anywhere: Running) -> None:
    """It is done, not found or refused, in words."""
    ticket = anywhere.text(mobile("1A"), "no heat")["ticket"]
    for method, path, role, form in AT_DOORS:
        version = anywhere.get(f"/api/v1/tickets/{ticket}", "desk")["version"]
        headers = {} if role else cookie(anywhere, Role.DESK)
        headers |= {"Content-Type": "application/x-www-form-urlencoded"} if form else {}
        content = form.format(version=version).encode() if form else None

        answer = anywhere.call(
            method, path.format(ticket=ticket), role, content=content, headers=headers
        )

        assert answer.status_code in {200, 303, 404, 422}, (path, answer.text)
