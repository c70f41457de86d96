"""Who may find that a danger was none, and what a report complains of then."""

from __future__ import annotations

import pytest

from rules.data import table
from rules.model import Kind
from rules.urgency.danger_over import (
    FoundBy,
    is_on_site,
    left_of,
    may_find,
    speaks_for_one_home,
)

ON_SITE = {FoundBy.FIRE, FoundBy.GAS, FoundBy.TECHNICIAN}


@pytest.mark.parametrize("danger", ["gas", "co"])
def test_nobody_at_home_ends_gas_or_carbon_monoxide(danger: str) -> None:
    """ "Stay out until the crew says it is safe" (utility and fire-service advice, as in the leave-now
    texts): whoever is at home cannot say so; only that nothing of the kind was reported."""
    allowed = set(may_find([danger]))
    assert allowed - ON_SITE == {FoundBy.MISREAD}
    assert {FoundBy.FIRE, FoundBy.GAS} & allowed
    assert FoundBy.TENANT not in allowed


def test_a_technician_alone_does_not_clear_a_smell_of_gas() -> None:
    """Nobody goes in before the utility or the fire department has cleared the building (entry.yaml)."""
    assert FoundBy.TECHNICIAN not in may_find(["gas"])
    assert FoundBy.TECHNICIAN in may_find(["co"])


def test_toast_is_said_on_the_telephone() -> None:
    """A household knows what burned in its pan (common practice, no source)."""
    assert FoundBy.TENANT in may_find(["fire"])


def test_several_dangers_are_ended_by_whoever_may_end_each() -> None:
    """With gas beside the smoke, what the household says of its pan is not enough."""
    assert set(may_find(["fire", "gas"])) == {FoundBy.FIRE, FoundBy.MISREAD}


def test_a_danger_nobody_has_foreseen_counts_as_other() -> None:
    """It is never ended by a household."""
    assert may_find(["flood of lava"]) == may_find(["other"])
    assert FoundBy.TENANT not in may_find(["other"])


def test_every_danger_there_is_has_a_row() -> None:
    """What urgency knows as a danger can be ended by somebody on site."""
    for danger in table("urgency")["danger"]:
        assert danger in table("danger_over")["dangers"]
        assert ON_SITE & set(may_find([danger]))


def test_who_was_there_and_who_speaks_for_one_home() -> None:
    """Crews were there; a household speaks for itself."""
    assert {f for f in FoundBy if is_on_site(f)} == ON_SITE
    assert {f for f in FoundBy if speaks_for_one_home(f)} == set(FoundBy) - ON_SITE


@pytest.mark.parametrize(
    ("kinds", "dangers", "still", "left"),
    [
        ({"gas_smell"}, ["gas"], False, set()),
        ({"gas_smell", "too_cold"}, ["gas"], False, {"too_cold"}),
        ({"smoke", "other"}, ["fire"], False, set()),
        ({"smoke"}, ["fire"], True, {"other"}),
        ({"electrical", "leak"}, ["water_electrics"], False, {"leak"}),
        ({"electrical"}, ["electrical"], True, {"electrical"}),
        ({"gas_smell"}, ["gas"], True, {"other"}),
        ({"too_cold"}, ["hypothermia"], False, {"too_cold"}),
    ],
)
def test_what_is_left(kinds: set[str], dangers: list[str], still: bool, left: set[str]) -> None:
    """The danger goes, the rest stays; what gave no sparks may still be broken."""
    found = left_of({Kind(k) for k in kinds}, dangers, still_to_do=still)
    assert found == {Kind(k) for k in left}
