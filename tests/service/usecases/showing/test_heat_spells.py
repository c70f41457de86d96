"""Spells under the heat law: when, where, for how long, and what was done first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from service.usecases.showing.heat_spells import HeatLine, heat_spells

NOON = datetime(2027, 1, 13, 17, 0, tzinfo=UTC)


def told(
    hours: float,
    room_f: float,
    home: str = "4A",
    *,
    acted: float | None = None,
    ended: float | None = None,
    right: float | None = None,
) -> HeatLine:
    """A temperature told some hours after noon, when the law asks for 68 F."""
    return HeatLine(
        at=NOON + timedelta(hours=hours),
        came_at=None,
        apartment=home,
        room_f=room_f,
        source="told by text",
        message="m_1",
        outdoor_f=20.0,
        floor_f=68.0,
        law="a law",
        reference="T-AAAA",
        acted_at=None if acted is None else NOON + timedelta(hours=acted),
        acted="" if acted is None else "given to somebody",
        ended_at=None if ended is None else NOON + timedelta(hours=ended),
        ended="" if ended is None else "fixed",
        right_at=None if right is None else NOON + timedelta(hours=right),
        taken_back_at=None,
    )


def test_a_spell_ends_with_the_first_temperature_that_is_not_under() -> None:
    """60, 58 and then 69 F: six hours, 58 F at its coldest."""
    (spell,) = heat_spells([told(6, 69), told(0, 60), told(2, 58)])
    assert (spell.since, spell.until) == (NOON, NOON + timedelta(hours=6))
    assert spell.lasted(NOON + timedelta(days=9)) == timedelta(hours=6)
    assert (spell.worst.room_f, spell.warm_f) == (58, 69)


def test_a_spell_ends_with_its_report() -> None:
    """Where nobody told a temperature afterwards; a later one is a spell of its own."""
    first, second = heat_spells([told(0, 60, ended=5), told(30, 61)])[::-1]
    assert (first.until, first.warm_f) == (NOON + timedelta(hours=5), None)
    assert (second.since, second.until) == (NOON + timedelta(hours=30), None)


def test_when_it_was_told_right_after_the_repair_stands_beside() -> None:
    """Closed after two hours; a "yes" next morning, or 70 F told before it."""
    (by_word,) = heat_spells([told(0, 60, ended=2, right=20)])
    (by_figure,) = heat_spells([told(0, 60, ended=2, right=20), told(9, 70)])
    (by_none,) = heat_spells([told(0, 60, ended=2)])
    assert by_word.until == NOON + timedelta(hours=2)
    assert by_word.right_at == NOON + timedelta(hours=20)
    assert by_figure.right_at == NOON + timedelta(hours=9)
    assert by_none.right_at is None


def test_a_spell_that_goes_on_lasts_until_now() -> None:
    """No warm temperature and no end of the report."""
    (spell,) = heat_spells([told(0, 60)])
    assert spell.until is None
    assert spell.lasted(NOON + timedelta(hours=14)) == timedelta(hours=14)


def test_the_first_act_counts_from_the_beginning() -> None:
    """The spell began at noon, somebody acted at two: two hours, whatever was told in between."""
    (spell,) = heat_spells([told(0, 60, acted=2), told(1, 59, acted=2)])
    assert spell.acted_after == timedelta(hours=2)
    assert spell.acted == "given to somebody"


def test_each_home_has_spells_of_its_own_and_what_goes_on_stands_first() -> None:
    """A warm neighbour ends nothing."""
    lines = [told(0, 60, "4A"), told(1, 70, "5B"), told(2, 61, "5B"), told(3, 70, "5B")]
    assert [(s.apartment, s.until is None) for s in heat_spells(lines)] == [
        ("4A", True),
        ("5B", False),
    ]


@pytest.mark.parametrize("room_f", [68, 70])
def test_at_or_over_the_law_is_no_spell(room_f: float) -> None:
    """ "At least 68 F" (NYC Administrative Code 27-2029): 68 is enough."""
    assert heat_spells([told(0, room_f)]) == ()
