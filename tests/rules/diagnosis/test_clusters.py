"""Is it more than coincidence: the scan statistic against published numbers, then on a house."""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW, house, report, weather
from hypothesis import given
from hypothesis import strategies as st

from rules.checks.notes import notes
from rules.diagnosis import diagnose
from rules.diagnosis.clusters import chance_of_at_least, cluster_of, log_likelihood_ratio
from rules.model import ApartmentId, Evidence, Household
from tests.houses import built


@pytest.mark.parametrize(
    ("cases", "expected", "total", "llr"),
    [
        (6, 2, 10, 3.819085),
        (5, 1, 5, 8.047190),  # nothing outside: the second term is 0, not a hole
        (2, 2, 10, 0.0),
        (1, 2, 10, 0.0),
    ],
)
def test_kulldorffs_ratio(cases, expected, total, llr):
    """Kulldorff 1997: the ratio by its formula, and nothing where there are no more than due."""
    assert log_likelihood_ratio(cases, expected, total) == pytest.approx(llr, abs=1e-6)


@pytest.mark.parametrize(
    ("cases", "births", "all_cases", "all_births", "llr"),
    [
        # North Carolina 1974-78: Halifax, Northampton, Hertford, Bertie; the rate of 5.12 per 1,000 is
        # published (IJHG 2021, s12942-021-00298-6, Table 1), the ratio computed from the counts.
        (40, 7_805, 667, 329_962, 13.4457),
        # Both periods: Scotland, Hoke, Richmond, Robeson, Moore, Anson, Montgomery (computed).
        (145, 43_395, 1_503, 752_354, 17.493),
    ],
)
def test_published_sids_clusters(cases, births, all_cases, all_births, llr):
    """Sudden infant deaths of North Carolina, the scan statistic's own example."""
    expected = all_cases * births / all_births

    assert log_likelihood_ratio(cases, expected, all_cases) == pytest.approx(llr, abs=1e-3)
    if cases == 40:
        assert 1000 * cases / births == pytest.approx(5.12, abs=0.01)


@pytest.mark.parametrize(
    ("mean", "events", "chance"),
    [
        (0.5, 3, 0.0143877),
        (1, 4, 0.0189882),
        (2, 6, 0.0165636),
        (0.2, 2, 0.0175231),
        (3, 8, 0.0119045),
    ],
)
def test_so_many_or_more_by_themselves(mean, events, chance):
    """Upper tail of the Poisson law, as tables print it."""
    assert chance_of_at_least(events, mean) == pytest.approx(chance, abs=1e-7)


@given(st.integers(1, 30), st.floats(1e-4, 5))
def test_a_tail_never_grows_with_more_events(events, mean):
    """More at once is never easier, and no chance leaves [0, 1]."""
    fewer, more = chance_of_at_least(events, mean), chance_of_at_least(events + 1, mean)

    assert 0 <= more <= fewer <= 1


def found(plant, households, reports):
    """The diagnosis of some reports, and the cluster of its first group."""
    diagnosis = diagnose(plant, reports, households, weather(), NOW)
    homes = diagnosis.groups[0].apartments
    return diagnosis, cluster_of(diagnosis.belief, diagnosis.evidence, homes)


def test_three_cold_homes_of_a_loop_are_no_coincidence(plant, households):
    """Three of the six homes of a loop within two hours: once in many years, and the ticket says so."""
    reports = [report(a, "too_cold", hours_ago=h) for a, h in (("1A", 2), ("2B", 1.5), ("2C", 0))]

    diagnosis, cluster = found(plant, households, reports)

    assert cluster is not None
    assert (cluster.homes, cluster.of, cluster.component) == (3, 6, "loop-1")
    assert cluster.hours == 3
    assert cluster.llr > 10
    assert cluster.years > 50
    said = [n.says for n in notes(diagnosis, diagnosis.groups[0]) if n.about == "coincidence"]
    assert len(said) == 1
    assert said[0].startswith("3 of the 6 homes on loop-1 wrote within 3 hours; by coincidence ")


def test_the_whole_building_is_the_branch_when_both_loops_write(plant, households):
    """Homes of two loops have the heat source in common, or what stands above it."""
    reports = [report(a, "too_cold", "no_hot_water", hours_ago=2) for a in ("1A", "2B", "3C", "4A")]

    _, cluster = found(plant, households, reports)

    assert cluster is not None
    assert (cluster.homes, cluster.of, cluster.component) == (4, 12, "boiler-1")


def test_closer_in_time_is_rarer_and_more_homes_are(plant, households):
    """The same homes within an hour are a greater surprise than within a day; a fourth adds to it."""

    def years(*hours):
        homes = ("1A", "1B", "2B", "2C")[: len(hours)]
        reports = [report(a, "too_cold", hours_ago=h) for a, h in zip(homes, hours, strict=True)]
        cluster = found(plant, households, reports)[1]
        assert cluster is not None
        return cluster.years

    assert years(1, 0.5, 0.2) > years(5, 2, 0.2) > years(20, 10, 0.2)
    assert years(5, 2, 1, 0.2) > years(5, 2, 0.2)


def test_two_homes_or_three_over_days_are_no_cluster(plant, households):
    """Fewer than three within the longest stretch say nothing."""
    two = [report(a, "too_cold", hours_ago=1) for a in ("1A", "2B")]
    spread = [report(a, "too_cold", hours_ago=h) for a, h in (("1A", 60), ("2B", 30), ("2C", 0))]

    assert found(plant, households, two)[1] is None
    assert found(plant, households, spread)[1] is None


def test_repeating_oneself_is_not_another_home(plant, households):
    """Only the first report of each home counts."""
    once = [report(a, "too_cold", hours_ago=h) for a, h in (("1A", 2), ("2B", 1.5), ("2C", 0))]
    again = [Evidence(f"m_{n}", NOW - timedelta(hours=n), once[0].fact) for n in (0, 1)]

    assert found(plant, households, [*once, *again])[1] == found(plant, households, once)[1]


def test_three_risers_in_a_week_are_no_cluster():
    """Three homes on three of the ten loops of a hundred homes, days apart, are not tied together."""
    plant = built(house(10, "ABCDEFGHIJ", loops=10))
    people = [Household(ApartmentId(str(a.id))) for a in plant.apartments]
    reports = [report(a, "too_cold", hours_ago=h) for a, h in (("1A", 150), ("5B", 80), ("9C", 0))]

    groups = diagnose(plant, reports, people, weather(), NOW).groups

    assert [g.apartments for g in groups] == [("1A",), ("5B",), ("9C",)]
