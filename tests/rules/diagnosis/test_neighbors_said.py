"""What one home says of another weighs what both share, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import Diagnosis, diagnose
from rules.diagnosis.neighbors import neighbor_term
from rules.model import ApartmentId, ComponentId, Evidence, Household, Kind, NeighborSaid
from tests.houses import built

# Three floors to each of four loops; 1A complains of cold, and loop 3 says nothing itself.
COLD = report("1A", "too_cold", hours_ago=4)
SAID_BY, SAME_LOOP, OTHER_LOOP = ApartmentId("1A"), ApartmentId("2B"), ApartmentId("7C")
# Hearsay, thrice as likely of whoever feels it (rules/data/answers.yaml; common practice, no source).
ODDS = 3.0


def said(other: ApartmentId, *, same: bool) -> Evidence:
    """A text of 1A, an hour ago."""
    fact = NeighborSaid(SAID_BY, other, Kind.TOO_COLD, same)
    return Evidence(f"m_{other}_{same}", NOW, fact)


def diagnosed(*evidence: Evidence) -> Diagnosis:
    """Everybody could have written."""
    plant = built(house(12, "ABCD", loops=4))
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, list(evidence), people, weather(), NOW)


def chance(found: Diagnosis, component: str) -> float:
    """That something shared at a component is faulty."""
    belief = found.belief
    at = [n for n, c in enumerate(belief.space.shared) if c.component == ComponentId(component)]
    assert at
    return sum(float(belief.chances.of_shared(n)) for n in at)


@pytest.mark.parametrize("other", [SAME_LOOP, OTHER_LOOP])
@pytest.mark.parametrize("same", [True, False])
def test_every_shared_state_is_weighed_by_what_it_does_to_the_named_home(other, same):
    """Bayes by hand over all states, those that are only summed among them."""
    before, after = diagnosed(COLD).belief, diagnosed(COLD, said(other, same=same)).belief
    term, _ = neighbor_term(before.space, NeighborSaid(SAID_BY, other, Kind.TOO_COLD, same))
    by_hand = before.chances.of_all * np.exp(term)
    by_hand /= by_hand.sum()

    assert after.chances.of_all == pytest.approx(by_hand, abs=1e-9)
    assert np.exp(term.max() - term.min()) == pytest.approx(ODDS)


def test_another_loop_cold_too_is_the_boiler_and_on_the_same_loop_its_pump() -> None:
    """ "7C has none either" tells the boiler from this loop; "7C has heat" this loop from the boiler."""
    alone, cold = diagnosed(COLD), diagnosed(COLD, said(OTHER_LOOP, same=True))
    warm, near = (
        diagnosed(COLD, said(OTHER_LOOP, same=False)),
        diagnosed(COLD, said(SAME_LOOP, same=True)),
    )

    assert chance(cold, "boiler-1") > chance(alone, "boiler-1") > chance(warm, "boiler-1")
    assert chance(cold, "pump-1") < chance(alone, "pump-1")
    assert chance(near, "pump-1") > chance(alone, "pump-1")


def test_a_home_that_calls_itself_right_is_believed_more_than_hearsay() -> None:
    """2B of the same loop says that it is warm: the pump runs, and 1A has a trouble of its own."""
    itself = NeighborSaid(SAME_LOOP, SAME_LOOP, Kind.TOO_COLD, same=False)
    alone, heard = diagnosed(COLD), diagnosed(COLD, said(SAME_LOOP, same=False))
    right = diagnosed(COLD, Evidence("confirmed:1", NOW, itself))

    for component in ("pump-1", "boiler-1"):
        assert chance(right, component) < chance(heard, component) < chance(alone, component)
    by_state, _ = neighbor_term(alone.belief.space, itself)
    assert np.exp(by_state.max() - by_state.min()) > 3 * ODDS
    assert SAME_LOOP not in right.causes


def test_who_is_named_has_reported_nothing() -> None:
    """There is no cause to look for in 7C, and its silence counts as before."""
    found = diagnosed(COLD, said(OTHER_LOOP, same=True))
    assert OTHER_LOOP not in found.causes
    assert found.belief.homes[OTHER_LOOP].silent


def test_the_last_word_on_a_home_counts_and_unknown_doors_do_not() -> None:
    """ "7C is cold", then "no, 7C is fine"; a door that the plant does not have tells nothing."""
    last = said(OTHER_LOOP, same=False)
    first = Evidence("m_0", NOW.replace(hour=1), said(OTHER_LOOP, same=True).fact)
    both, one = diagnosed(COLD, first, last), diagnosed(COLD, last)
    assert chance(both, "boiler-1") == pytest.approx(chance(one, "boiler-1"))
    nowhere = diagnosed(COLD, said(ApartmentId("99Z"), same=True))
    assert chance(nowhere, "boiler-1") == pytest.approx(chance(diagnosed(COLD), "boiler-1"))
