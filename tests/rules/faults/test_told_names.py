"""The names that programs outside see: those of the trade's list, one for all rows of it."""

from __future__ import annotations

import pytest

from rules.faults.catalogue import faults, named_only
from rules.faults.telling import rows_told_as, told_name

# The trade's list has one name for these (common practice, no source): a strainer, a check or a
# balancing valve is bad or worse, air chokes or stops the water, main vents of steam are those of mains
# and of risers; a mixing tap that keeps its hot side back is a crossover at a faucet.
ONE_NAME = {
    "air_locked_loop": "air_bound_loop",
    "air_locked_zone": "air_bound_zone",
    "steam_riser_vent_failed": "steam_main_vent_failed",
    "strainer_blocked": "strainer_clogged",
    "system_leak_not_made_up": "system_leak",
    "balance_shut": "balance_error",
    "check_valve_stays_open": "check_valve_leaking",
    "tap_keeps_hot_back": "dhw_crossover",
}


@pytest.mark.parametrize(("row", "name"), ONE_NAME.items())
def test_a_row_beside_the_list_is_told_under_a_listed_name(row: str, name: str) -> None:
    """It and the row of that name are told alike, and the name may stand for both."""
    assert told_name(row) == told_name(name) == name
    assert [found.id for found in rows_told_as(name)] == [name, row]


def test_every_other_row_is_told_by_its_own_name() -> None:
    """The names told are as many as the trade's list has modes: 159 (common practice, no source)."""
    told = {told_name(row) for row in faults()}

    assert set(faults()) - told == set(ONE_NAME)
    assert len(told | named_only()) == 159
    assert all(rows_told_as(name)[0].id == name for name in told)


def test_a_name_that_no_row_has_is_its_own() -> None:
    """What a technician may name although nothing describes it stands for no row."""
    (only,) = named_only()

    assert told_name(only) == only
    assert rows_told_as(only) == ()
    assert rows_told_as("no_such_thing") == ()
