"""An evening on which what homes share is broken: transformer, relay, circulator, boiler."""

from __future__ import annotations

import pytest
from evening import check_conversations, check_tickets
from night import Night, Played
from program import Program
from tenants import OF_SEVERAL_HOMES


@pytest.fixture(scope="module")
def evening(program: Program) -> dict[str, Played]:
    """All stories of shared plant, each in a building of its own."""
    return {p.story.fault: p for p in Night(program, OF_SEVERAL_HOMES).play()}


@pytest.mark.parametrize("fault", [s.fault for s in OF_SEVERAL_HOMES])
def test_nobody_is_left_hanging(program: Program, evening: dict[str, Played], fault: str) -> None:
    """At most five questions, none twice, an end to every conversation."""
    check_conversations(program, evening[fault])


@pytest.mark.parametrize("fault", [s.fault for s in OF_SEVERAL_HOMES])
def test_the_homes_are_on_one_ticket(evening: dict[str, Played], fault: str) -> None:
    """One ticket of what they share, with the right component among the first few."""
    check_tickets(evening[fault])
    (ticket,) = evening[fault].tickets
    assert ticket["scope"] in {"loop", "transformer", "source"}
