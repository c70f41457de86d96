"""Assigning, holding, respond-by, and what happens when two people act on one ticket."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from at_the_desk import act, acts_of, done, refused, says, ticket_of, undo_last
from sqlalchemy import select
from whole_service import EVENING, Running, mobile

from service.store.tables import AuditRow

COLD = "no heat, 58 in here"


@pytest.fixture
def ticket(service: Running) -> str:
    """A ticket about a cold home."""
    found: str = service.text(mobile("1A"), COLD)["ticket"]
    return found


def held(service: Running, ticket: str, hours: float = 12) -> dict[str, object]:
    """Put a ticket on hold."""
    until = (service.services.now() + timedelta(hours=hours)).isoformat()
    return act(service, ticket, "hold", until=until, reason="the valve comes tomorrow")


def test_who_takes_care_is_kept_with_history_and_audit(service: Running, ticket: str) -> None:
    """An assignment is on the ticket, in its history and in the audit log, and names its maker."""
    after = act(service, ticket, "assign", to="  R.  Moreno ")

    assert after["assigned_to"] == "R. Moreno"
    assert says(service, ticket)[-1] == "Desk program: Assigned to R. Moreno"
    with service.services.db.reading() as session:
        rows = session.execute(
            select(AuditRow.account, AuditRow.act, AuditRow.details).where(
                AuditRow.subject == ticket
            )
        ).all()
    assert [(r.account, r.act) for r in rows] == [("token:desk:2", "ticket assigned")]
    assert "Moreno" not in rows[0].details


def test_the_second_of_two_people_is_told_what_the_first_did(service: Running, ticket: str) -> None:
    """An act on the ticket as it was is refused with who changed what; nothing is overwritten."""
    seen = ticket_of(service, ticket)["version"]
    act(service, ticket, "assign", version=seen, to="R. Moreno")

    why = refused(service, f"tickets/{ticket}/assign", version=seen, to="K. Ivanova")

    assert "Assigned to R. Moreno (Desk program, Fri Jan 9, 7:00 pm)" in why
    assert ticket_of(service, ticket)["assigned_to"] == "R. Moreno"


def test_new_evidence_counts_as_a_change(service: Running, ticket: str) -> None:
    """Whoever acts on a ticket that a text has changed since is asked to look again."""
    seen = ticket_of(service, ticket)["version"]
    service.text(mobile("1B"), COLD)

    assert "has changed since you looked" in refused(
        service, f"tickets/{ticket}/assign", version=seen, to="R. Moreno"
    )


def test_undoing_goes_backwards(service: Running, ticket: str) -> None:
    """The first of two assignments can be undone only after the second."""
    act(service, ticket, "assign", to="R. Moreno")
    act(service, ticket, "assign", to="K. Ivanova")
    second, first = acts_of(service, ticket)
    assert [second["can_undo"], first["can_undo"]] == [True, False]

    why = refused(service, f"acts/{first['id']}/undo")
    assert "Assigned to K. Ivanova" in why
    assert done(service, f"acts/{second['id']}/undo")["assigned_to"] == "R. Moreno"
    assert done(service, f"acts/{first['id']}/undo")["assigned_to"] is None
    assert "has undone it already" in refused(service, f"acts/{first['id']}/undo")


def test_a_held_ticket_comes_back_at_its_date(service: Running, ticket: str) -> None:
    """The hold shows date and reason, stands last in the queue, and ends by itself."""
    after = held(service, ticket)
    assert after["hold_reason"] == "the valve comes tomorrow"
    assert datetime.fromisoformat(str(after["held_until"])) == EVENING + timedelta(hours=12)
    before = ticket_of(service, ticket)["version"]

    service.wait(hours=11)
    assert ticket_of(service, ticket)["held_until"] is not None
    service.wait(hours=1)

    back = ticket_of(service, ticket)
    assert back["held_until"] is back["hold_reason"] is None
    assert back["version"] > before
    assert "Back from hold: its date has come" in says(service, ticket)
    assert not next(a for a in acts_of(service, ticket) if a["what"].startswith("On hold"))[
        "can_undo"
    ]


def test_the_history_names_the_time_of_a_hold_and_leaves_its_reason_at_the_desk(
    service: Running, ticket: str
) -> None:
    """Phones keep the history for places without signal; what somebody typed may be about a person."""
    held(service, ticket)
    (line,) = [words for words in says(service, ticket) if "On hold until" in words]
    assert "the valve comes tomorrow" not in line
    (act_line,) = [a["what"] for a in acts_of(service, ticket) if a["what"].startswith("On hold")]
    assert "the valve comes tomorrow" in act_line


def test_a_hold_put_off_again_ends_at_the_later_date(service: Running, ticket: str) -> None:
    """The timer of the first date does not end the second hold; undoing brings the first back."""
    held(service, ticket, hours=3)
    held(service, ticket, hours=6)
    service.wait(hours=4)
    assert ticket_of(service, ticket)["held_until"] is not None
    service.wait(hours=2)
    assert ticket_of(service, ticket)["held_until"] is None


def test_released_and_held_again_by_undo(service: Running, ticket: str) -> None:
    """Taking off hold can be undone: the date and the reason are those of before."""
    before = held(service, ticket)
    act(service, ticket, "release")
    assert ticket_of(service, ticket)["held_until"] is None
    assert "is not on hold" in refused(
        service, f"tickets/{ticket}/release", version=ticket_of(service, ticket)["version"]
    )

    after = undo_last(service, ticket)

    assert [after["held_until"], after["hold_reason"]] == [
        before["held_until"],
        before["hold_reason"],
    ]
    service.wait(hours=12)
    assert ticket_of(service, ticket)["held_until"] is None


def test_a_danger_message_lifts_a_hold_at_once(service: Running, ticket: str) -> None:
    """A household on hold that smells gas waits for nothing, and cannot be held again."""
    held(service, ticket)

    service.text(mobile("1A"), "I smell gas")

    now = ticket_of(service, ticket)
    assert now["danger"] is True
    assert now["held_until"] is None
    assert "Off hold at once: a danger was reported" in says(service, ticket)
    body = {"until": (EVENING + timedelta(hours=1)).isoformat(), "reason": "later"}
    why = refused(service, f"tickets/{ticket}/hold", version=now["version"], **body)
    assert "is a danger" in why


def test_a_danger_on_a_ticket_of_two_lifts_its_hold_too(service: Running, ticket: str) -> None:
    """The danger gets a ticket of its own, and neither home waits any more."""
    assert service.text(mobile("1B"), COLD)["ticket"] == ticket
    held(service, ticket)

    service.text(mobile("1B"), "I smell gas")

    found = service.open_tickets()
    assert [(t["apartments"], t["danger"]) for t in found] == [(["1B"], True), (["1A"], False)]
    assert [t["held_until"] for t in found] == [None, None]


@pytest.mark.parametrize(("hours", "reason"), [(-1, "x"), (0, "x"), (24 * 181, "x"), (1, " \n ")])
def test_a_hold_needs_a_date_ahead_and_a_reason(
    service: Running, ticket: str, hours: int, reason: str
) -> None:
    """A date that has passed or is half a year off, or words that say nothing, are refused."""
    body = {
        "version": ticket_of(service, ticket)["version"],
        "until": (EVENING + timedelta(hours=hours)).isoformat(),
        "reason": reason,
    }
    answer = service.call("POST", f"/api/v1/tickets/{ticket}/hold", "desk", json=body)

    assert answer.status_code == 422
    assert answer.json()["title"] == "Something is missing or wrong"
    assert answer.json()["errors"][0]["pointer"] in {"/until", "/reason"}


def test_news_of_more_ends_a_hold(service: Running) -> None:
    """Too hot, a part on order; then a newborn is told of: the desk hears of it at once."""
    ticket = str(service.text(mobile("4B"), "too hot in here")["ticket"])
    until = (EVENING + timedelta(days=5)).isoformat()
    act(service, ticket, "hold", until=until, reason="valve body on order")
    service.text(mobile("4B"), "still too hot")
    assert ticket_of(service, ticket)["held_until"] is not None

    service.text(mobile("4B"), "its 82 now and i have a newborn")

    assert ticket_of(service, ticket)["held_until"] is None
    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert "tells more on a held ticket" in {alert["what"] for alert in alerts}


def test_who_comes_to_a_held_ticket_and_tells_more_ends_the_hold(service: Running) -> None:
    """A loop waits for its pump; one more cold home is no news, one with a newborn is."""
    for home in ("1A", "1B", "2A"):
        ticket = str(service.text(mobile(home), COLD)["ticket"])
    held(service, ticket, hours=48)
    assert service.text(mobile("2B"), COLD)["ticket"] == ticket
    assert ticket_of(service, ticket)["held_until"] is not None

    assert service.text(mobile("3A"), COLD + ", and we have a newborn")["ticket"] == ticket
    assert ticket_of(service, ticket)["held_until"] is None


def test_a_persons_time_holds_with_its_reason(service: Running, ticket: str) -> None:
    """A time later than the law's is shown with the person's reason first and the law's after."""
    law = ticket_of(service, ticket)
    later = EVENING + timedelta(hours=5)

    after = act(service, ticket, "respond-by", at=later.isoformat(), reason="tenant away until 10")

    assert datetime.fromisoformat(after["respond_by"]) == later
    assert after["because"][0]["rule"] == "tenant away until 10"
    assert after["because"][0]["source"] == "set by Desk program"
    assert [b["rule"] for b in after["because"][1:]] == [b["rule"] for b in law["because"]]
    assert "later than before" in acts_of(service, ticket)[0]["what"]

    service.text(mobile("1A"), "56 now, and I have a baby")  # computing again does not move it
    assert datetime.fromisoformat(ticket_of(service, ticket)["respond_by"]) == later

    back = undo_last(service, ticket)
    assert datetime.fromisoformat(back["respond_by"]) <= datetime.fromisoformat(law["respond_by"])
    assert back["respond_by_set"] is None


def test_a_danger_is_never_put_off(service: Running) -> None:
    """A later time is refused for a danger, and a time set before gives way to one."""
    gas = service.text(mobile("2A"), "I smell gas")["ticket"]
    seen = ticket_of(service, gas)
    later = (EVENING + timedelta(hours=5)).isoformat()
    why = refused(
        service, f"tickets/{gas}/respond-by", version=seen["version"], at=later, reason="busy"
    )
    assert "can only be earlier" in why
    ticket = service.text(mobile("4B"), "too hot")["ticket"]
    act(service, ticket, "respond-by", at=later, reason="busy")

    service.text(mobile("4B"), "now there is smoke")

    assert datetime.fromisoformat(ticket_of(service, ticket)["respond_by"]) == EVENING


def test_a_closed_ticket_refuses_every_act(service: Running, ticket: str) -> None:
    """Nothing is done to a closed ticket, nor undone."""
    act(service, ticket, "assign", to="R. Moreno")
    number = acts_of(service, ticket)[0]["id"]
    complaint = ticket_of(service, ticket)["complaints"][0]
    service.close(ticket)
    version = ticket_of(service, ticket)["version"]
    at = (EVENING + timedelta(hours=1)).isoformat()

    for verb, body in {
        "assign": {"to": None},
        "hold": {"until": at, "reason": "x"},
        "release": {},
        "respond-by": {"at": at, "reason": "x"},
        "merge": {"into": ticket},
        "split": {"complaints": [complaint]},
    }.items():
        why = refused(service, f"tickets/{ticket}/{verb}", version=version, **body)
        assert "is closed" in why, verb
    for verb, body in {
        "pin": {"version": version, "ticket": ticket},
        "unpin": {"version": version},
        "write": {"text": "hello"},
        "take-over": {},
        "hand-back": {},
    }.items():
        assert "has ended" in refused(service, f"complaints/{complaint}/{verb}", **body), verb
    assert "is closed" in refused(service, f"acts/{number}/undo")


def test_only_the_desk_acts(service: Running, ticket: str) -> None:
    """Other roles are turned away, and what does not exist is not found."""
    body = {"version": 1, "to": None}
    path = f"/api/v1/tickets/{ticket}/assign"
    codes = {r: service.call("POST", path, r, json=body).status_code for r in ("truck", "owner")}
    assert codes == {"truck": 403, "owner": 403}
    gone = service.call("POST", "/api/v1/tickets/t_none/assign", "desk", json=body)
    assert gone.status_code == 404
    assert service.call("POST", "/api/v1/acts/4711/undo", "desk").status_code == 404
