"""An evening on which single homes have something broken: valve, thermostat, the home itself."""

from __future__ import annotations

import pytest
from evening import check_conversations, check_tickets
from night import Night, Played
from program import Program
from tenants import OF_ONE_HOME


@pytest.fixture(scope="module")
def evening(program: Program) -> dict[str, Played]:
    """All stories of single homes, each in a building of its own."""
    return {p.story.fault: p for p in Night(program, OF_ONE_HOME).play()}


@pytest.mark.parametrize("fault", [s.fault for s in OF_ONE_HOME])
def test_nobody_is_left_hanging(program: Program, evening: dict[str, Played], fault: str) -> None:
    """At most five questions, none twice, an end to every conversation."""
    check_conversations(program, evening[fault])


@pytest.mark.parametrize("fault", [s.fault for s in OF_ONE_HOME])
def test_the_ticket_names_the_home(evening: dict[str, Played], fault: str) -> None:
    """One ticket, of an apartment, with the right component among the first three."""
    check_tickets(evening[fault])
    assert [t["scope"] for t in evening[fault].tickets] == ["apartment"]
