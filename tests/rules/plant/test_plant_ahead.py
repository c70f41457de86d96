"""Dates of installation that lie ahead of the day on which a building file is read."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from rules.plant import Plant, read_building_document

NOW = datetime(2026, 1, 15, 17, tzinfo=UTC)


def told(quarry: Plant, installed: str, now: datetime | None) -> list[tuple[str, bool, str]]:
    """What is said when the pump of the example is said to be of that day."""
    document = quarry.document()
    document["loops"][0]["circulator"]["installed"] = installed
    plant, problems = read_building_document(document, now)
    assert plant is not None
    return [(p.pointer, p.fatal, p.detail) for p in problems]


def test_a_part_of_next_year_is_warned_of(quarry: Plant) -> None:
    """The file is taken; where, what and which day is said."""
    ((pointer, fatal, detail),) = told(quarry, "2062-10-01", NOW)

    assert (pointer, fatal) == ("/loops/0/circulator/installed", False)
    assert detail == (
        "The circulator pump-1 is said to be installed on 2062-10-01, which lies ahead."
    )


@pytest.mark.parametrize("installed", ["2019-10-01", "2026-01-15"])
def test_a_part_of_today_or_earlier_is_not(quarry: Plant, installed: str) -> None:
    """Fitted and written down on one day."""
    assert told(quarry, installed, NOW) == []


def test_today_is_the_day_at_the_building(quarry: Plant) -> None:
    """At four in the morning of the sixteenth in Greenwich it is still the fifteenth in New York."""
    late = datetime(2026, 1, 16, 4, tzinfo=UTC)

    assert told(quarry, "2026-01-15", late) == []
    assert len(told(quarry, "2026-01-16", late)) == 1
