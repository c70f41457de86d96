"""What comes before anybody goes in."""

from __future__ import annotations

import pytest

from rules.checks.entry import before_entry
from rules.data import table
from rules.model import Kind


def test_the_utility_goes_first_where_gas_is_smelt() -> None:
    """Common practice, no source: who smells gas stays out until it has been cleared."""
    first, *more = before_entry([Kind.TOO_COLD, Kind.GAS_SMELL])
    assert "utility" in first
    assert "cleared" in first
    assert more


def test_the_meter_is_on_before_the_door_where_an_alarm_has_sounded() -> None:
    """Common practice, no source."""
    assert "CO meter on before the door" in before_entry([Kind.CO_ALARM])[0]


@pytest.mark.parametrize("kind", [Kind.TOO_COLD, Kind.TOO_HOT, Kind.NOISE, Kind.LEAK])
def test_nothing_is_said_where_nothing_is_in_the_air(kind: Kind) -> None:
    """A sentence that stands everywhere is read nowhere."""
    assert before_entry([kind]) == ()


def test_every_sentence_is_about_a_kind_of_complaint() -> None:
    """No name in the table is misspelt."""
    named = {kind for row in table("entry") for kind in row["about"]}
    assert named <= {kind.value for kind in Kind}
