"""What closed tickets teach about the lives of parts reaches what is suspected next."""

from __future__ import annotations

from datetime import date

import pytest
from at_work import cold_ticket
from whole_service import BUILDING, Running

from rules.diagnosis import diagnose
from rules.faults.lives import NOTHING_LEARNED
from service.usecases.diagnosing.ask_rules import asked_of
from service.usecases.diagnosing.lives_learned import lives_learned

TODAY = date(2026, 1, 20)


def learned(service: Running) -> float:
    """Life of circulators against what the table says."""
    with service.services.db.transaction() as session:
        return lives_learned(session, TODAY).ratio("circulator", None)


def replaced(service: Running, pump: str, *homes: str, fault: str | None) -> None:
    """A new pump after a complaint, because the old one had failed or for no reason of its own."""
    ticket = cold_ticket(service, *homes)
    part = {"part": "circulator", "quantity": 1}
    found = {"fault": fault, "component": pump, "parts": [part], "installed": "2026-01-09"}
    service.close(ticket["id"], **found)


def test_two_pumps_that_failed_at_six_years_shorten_the_life_of_pumps(service: Running) -> None:
    """Gamma update by hand: the prior is two failures and a median of 10 years (ASHRAE chart).

    The parts came under watch on the day the building was loaded, so they add nothing but days; two
    failures more make four. The median goes with (2^(1/failures) - 1)^(1/shape), here with shape 2.5:
    ((2^(1/4) - 1) / (2^(1/2) - 1))^(1/2.5) = 0.73 of what the table says.
    """
    assert learned(service) == pytest.approx(1.0, abs=0.01)

    replaced(service, "pump-1", "1A", "1B", fault="pump_seized")
    replaced(service, "pump-2", "3A", "3B", fault="pump_seized")

    assert learned(service) == pytest.approx(0.73, abs=0.01)


def test_a_pump_changed_for_another_reason_teaches_no_failure(service: Running) -> None:
    """Right censoring: it might have gone on."""
    replaced(service, "pump-1", "1A", "1B", fault=None)

    assert learned(service) == pytest.approx(1.0, abs=0.01)


def test_what_failed_in_one_loop_is_suspected_sooner_in_the_other(service: Running) -> None:
    """The same complaints with and without what the closed ticket has taught."""
    replaced(service, "pump-1", "1A", "1B", fault="pump_seized")
    cold_ticket(service, "3A", "3B")

    with service.services.db.transaction() as session:
        now = service.services.now()
        asked = asked_of(session, now, BUILDING)
    assert asked is not None
    suspected = []
    for lives in (NOTHING_LEARNED, asked.lives):
        found = diagnose(asked.plant, asked.evidence, asked.households, asked.weather, now, lives)
        suspects = [s for group in found.groups for s in group.suspects]
        suspected.append(sum(s.probability for s in suspects if s.component == "pump-2"))

    assert suspected[1] > 1.1 * suspected[0]
