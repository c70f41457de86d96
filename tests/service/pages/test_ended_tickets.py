"""Tickets that are over: their pages say so first, and where the work is now."""

from __future__ import annotations

import re

import pytest
from at_the_desk import act
from repairs.at_work import sign_in
from whole_service import Running, mobile

from service.auth.roles import Role


def shown(service: Running, door: str, ticket: str) -> str:
    """The page's words, without tags."""
    page = service.call("GET", f"/{door}/tickets/{ticket}").text
    body = page[page.index("<main") :]
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


@pytest.mark.parametrize(("role", "door"), [(Role.DESK, "desk"), (Role.TRUCK, "truck")])
def test_a_merged_ticket_leads_on_and_shows_no_work(
    service: Running, role: Role, door: str
) -> None:
    """Whoever comes by an old link is sent to where the homes are; nothing stale is to be done."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    noisy = service.text(mobile("3B"), "knocking in the pipes all night")["ticket"]
    act(service, noisy, "merge", into=cold)
    sign_in(service, role)
    said = shown(service, door, noisy)
    short = f"T-{cold[2:6].upper()}"
    assert f"Merged 7:00 pm today: its homes are on {short} now" in said
    assert f'href="/{door}/tickets/{cold}"' in service.call("GET", f"/{door}/tickets/{noisy}").text
    for stale in ("First suspect", "Load list", "Carry", "was due", "Not said yet"):
        assert stale not in said


@pytest.mark.parametrize(("role", "door"), [(Role.DESK, "desk"), (Role.TRUCK, "truck")])
def test_a_closed_ticket_is_due_no_more(service: Running, role: Role, door: str) -> None:
    """What is repaired is not late: the page says closed where it said by when."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    service.close(cold, fault="pump_seized", component="pump-1")
    service.wait(days=3)
    sign_in(service, role)
    said = shown(service, door, cold)
    assert re.search(r"(Respond|By when) Closed somebody had to act by", said)
    assert "was due" not in said


def test_a_closed_ticket_says_what_was_done(service: Running) -> None:
    """Parts and the technician's note for the desk, who is asked; the note is not kept on phones."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    parts = [{"part": "circulator", "quantity": 1}]
    service.close(
        cold, fault="pump_seized", component="pump-1", parts=parts, note="shaft was <stuck>"
    )
    sign_in(service, Role.DESK)
    said = shown(service, "desk", cold)
    assert "shaft was &lt;stuck&gt;" in said
    assert "Fitted: 1 x Circulator." in said
    sign_in(service, Role.TRUCK)
    said = shown(service, "truck", cold)
    assert "Fitted: 1 x Circulator." in said
    assert "stuck" not in said


def test_nothing_of_a_repair_has_no_heading(service: Running) -> None:
    """Closed with a note alone: the truck, which does not show it, shows no empty part either."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    service.close(cold)
    sign_in(service, Role.TRUCK)
    assert "The repair" not in shown(service, "truck", cold)


def test_writing_to_all_without_words_says_what_is_missing(service: Running) -> None:
    """Neither a ready text nor own words: one sentence that says what to do, at the form."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    sign_in(service, Role.DESK)
    answer = service.call("POST", f"/desk/tickets/{cold}/write", data={"once": "x"})
    assert answer.status_code == 422
    assert answer.text.count("Choose what to say, or write it in your own words.") == 2
    assert 'href="#write"' in answer.text
