"""What the desk sees of a danger, and of a report whose home nobody knows yet."""

from __future__ import annotations

import re

from repairs.at_work import words
from whole_service import BUILDING, Running, mobile

from service.auth.roles import Role


def ticket_page(service: Running, ticket: str) -> str:
    """The desk's page of a ticket."""
    service.sign_in(Role.DESK)
    return service.page(f"/desk/tickets/{ticket}")


def test_whoever_takes_a_danger_stays_with_it(service: Running) -> None:
    """The household is to be called, so no act on a danger leads on to another ticket."""
    gas = service.text(mobile("1A"), "I smell gas in the kitchen")["ticket"]
    cold = service.text(mobile("3B"), "no heat, 58 degrees")["ticket"]
    assert "data-goes-on" in ticket_page(service, cold)
    page = ticket_page(service, gas)
    assert "data-goes-on" not in page
    assert 'id="goes-on"' not in page


def test_the_number_to_call_stands_where_it_is_said_to_call(service: Running) -> None:
    """From what to do first to the number, and from the number to writing down what they say."""
    gas = service.text(mobile("1A"), "I smell gas in the kitchen")
    page = ticket_page(service, gas["ticket"])
    first = page[page.index("Do first") : page.index("In hand")]
    assert "Number of 1A" in first
    assert mobile("1A") not in page
    found = re.search(r'action="(/desk/complaints/\w+/number)"', first)
    assert found is not None
    shown = service.call("POST", found[1])
    assert f'href="tel:{mobile("1A")}"' in shown.text
    assert f'href="/desk/call?building={BUILDING}&amp;apartment=1A"' in shown.text


def test_a_danger_next_door_is_seen_and_cannot_be_merged(service: Running) -> None:
    """Each ticket of the house names the danger first; to merge it with anything is not offered."""
    gas = service.text(mobile("1A"), "I smell gas in the kitchen")["ticket"]
    cold = service.text(mobile("3B"), "no heat, 58 degrees")["ticket"]
    noise = service.text(mobile("4A"), "the pipes bang all night")["ticket"]
    page = ticket_page(service, noise)
    others = words(page[page.index("Also open in this building") : page.index("The building")])
    short = {t: f"T-{t[2:6].upper()}" for t in (gas, cold)}
    assert f"Danger {short[gas]} home 1A" in others
    assert others.index(short[gas]) < others.index(short[cold])
    assert f'name="into" value="{cold}"' in page
    assert f'name="into" value="{gas}"' not in page
    of_danger = ticket_page(service, gas)
    assert short[cold] in of_danger
    assert 'name="into"' not in of_danger


def test_reports_of_homes_that_nobody_knows_are_told_apart_by_their_phones(
    service: Running,
) -> None:
    """In the queue each shows how its number ends, never the whole of it."""
    for number in ("+12125550177", "+12125550178"):
        service.text(number, "my apartment is cold")
    service.sign_in(Role.DESK)
    page = service.page("/desk")
    assert sorted(re.findall(r"Number ends in (\d+)", page)) == ["77", "78"]
    assert "5550177" not in page
