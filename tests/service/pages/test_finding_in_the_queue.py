"""Somebody is on the telephone: the desk finds their ticket by what they say."""

from __future__ import annotations

import re

import pytest
from at_the_desk import act
from repairs.at_work import sign_in
from whole_service import Running, mobile

from service.auth.roles import Role
from service.pages.desk.queue import Filters


def found(service: Running, said: str) -> list[str]:
    """The tickets that the queue shows for it, in its order."""
    page = service.call("GET", "/desk", params={"find": said})
    assert page.status_code == 200
    return re.findall(r'data-ticket="(t_\w+)"', page.text)


@pytest.fixture
def two(service: Running) -> tuple[Running, str, str]:
    """A cold home and a hot one, and somebody at the desk."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    hot = service.text(mobile("4B"), "its 84 in here and the thermostat is on 68")["ticket"]
    sign_in(service, Role.DESK)
    return service, cold, hot


def test_a_ticket_is_found_by_home_street_short_form_and_complaint(
    two: tuple[Running, str, str],
) -> None:
    """Every word must begin a word of the row, in any order and case; nothing given shows all."""
    service, cold, hot = two
    short = f"T-{cold[2:6].upper()}"
    for said in ("1a", "quarry 1A", "1A, 9 Quarry Street", short, short.lower(), short[2:], "cold"):
        assert found(service, said) == [cold], said
    assert found(service, "quarry") == found(service, "") == [cold, hot]
    assert found(service, "quarry 10203C") == []  # longer than a short form, which may begin "3C"


def test_what_is_found_is_what_is_saved_and_kept_live(two: tuple[Running, str, str]) -> None:
    """The table to take away and the rows that a live page asks for hold the same part."""
    service, cold, hot = two
    page = service.call("GET", "/desk?find=4b").text
    assert 'href="/desk/queue.csv?find=4b"' in page
    assert 'value="4b"' in page
    table = service.call("GET", "/desk/queue.csv?find=4b").text
    assert len(table.strip().splitlines()) == 2
    rows = service.call("GET", f"/desk/rows?find=4b&only={cold}+{hot}").text
    assert re.findall(r'data-ticket="(t_\w+)"', rows) == [hot]


def test_a_ticket_that_is_not_open_any_more_is_found_by_its_short_form(
    two: tuple[Running, str, str],
) -> None:
    """Whoever reads "T-..." from last month's text is told that it is closed, or part of which."""
    service, cold, hot = two
    service.close(cold, fault="pump_seized", component="pump-1")
    page = service.call("GET", f"/desk?find=T-{cold[2:6]}").text
    assert f'<a href="/desk/tickets/{cold}">' in page
    assert "closed since 7:00 pm today" in page
    assert "No open ticket fits what you chose" in page
    other = service.text(mobile("3B"), "knocking in the pipes all night")["ticket"]
    act(service, other, "merge", into=hot)
    page = service.call("GET", f"/desk?find={other[2:6]}").text
    assert f"is part of T-{hot[2:6].upper()} now" in page


def test_odd_words_find_nothing_and_break_nothing(two: tuple[Running, str, str]) -> None:
    """Signs alone are no words; a very long word is cut; what was typed stands in the field."""
    service, cold, hot = two
    assert found(service, "???") == [cold, hot]
    assert found(service, "%") == [cold, hot]
    assert found(service, "x" * 4000) == []
    page = service.call("GET", "/desk", params={"find": '"><b>1A'}).text
    assert "<b>1A" not in page
    assert Filters(find="1a").query == "?find=1a"
