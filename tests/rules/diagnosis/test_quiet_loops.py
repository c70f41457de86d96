"""Loops from which nobody wrote: pairs with their faults are summed, and have the chance they had."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.belief import Belief
from rules.model import ApartmentId, Evidence, Household
from tests.houses import built

# Of loops with three floors each; loops 2 and 4 say nothing.
WROTE = [report("1A", "too_cold", hours_ago=4), report("7B", "noise", hours_ago=1)]


def belief_of(evidence: list[Evidence], loops: int = 4) -> Belief:
    """Everybody could have written."""
    plant = built(house(3 * loops, "ABCD", loops=loops))
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, evidence, people, weather(), NOW).belief


@pytest.mark.parametrize("evidence", [WROTE, []], ids=["two wrote", "nobody wrote"])
@pytest.mark.parametrize("home", ["1B", "4A", "7C", "11D", "12A"])
def test_rows_of_any_home_are_sums_over_all_states(evidence, home):
    """Of loops that wrote and of quiet ones, the highest floor with a class of its own among them."""
    belief = belief_of(evidence)
    kind = belief.homes[ApartmentId(home)].kind
    added = np.zeros((len(belief.onsets), kind.shape[0]))
    for onset, row in enumerate(belief.chances.of_all):
        np.add.at(added[onset], kind.look_of_state, row)

    assert belief.chances.by_look(kind) == pytest.approx(added, abs=1e-12)


@pytest.mark.parametrize("evidence", [WROTE, []], ids=["two wrote", "nobody wrote"])
def test_each_fault_has_the_chance_of_all_states_that_have_it(evidence):
    """Faults of quiet loops, of others, and of the whole building; with silence and without."""
    belief = belief_of(evidence)
    members = belief.space.members
    for chances in (belief.chances, belief.chances_unheard):
        for candidate in range(len(belief.space.shared)):
            summed = chances.of_all[:, (members == candidate).any(axis=1)].sum(axis=1)
            assert chances.with_each[:, candidate] == pytest.approx(summed, abs=1e-12)
            assert chances.of_shared(candidate) == pytest.approx(summed.sum(), abs=1e-12)
        assert chances.of_all.sum() == pytest.approx(1, abs=1e-12)
        assert chances.onsets == pytest.approx(chances.of_all.sum(axis=1), abs=1e-12)


def test_the_list_does_not_grow_with_loops_that_say_nothing():
    """Twice as many loops, the same two that wrote: the same pairs, those with a common cause aside."""
    listed = []
    for loops in (4, 8):
        listing = belief_of(WROTE, loops).listing
        pairs = listing.at[1 + len(listing.block) :] - 1 - len(listing.block)
        listed.append(np.sum(~np.isfinite(listing.states.log_in_common[pairs])))

    assert listed[0] == listed[1] > 0


def test_equal_quiet_loops_are_summed_once():
    """Of six quiet loops five are equal; on the last stands the highest floor."""
    quiet = belief_of(WROTE, loops=8).chances.quiet

    assert sorted(len(equal.blocks) for equal in quiet) == [1, 5]
