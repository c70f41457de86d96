"""What must hold of any plant and any evidence, tried on random small ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_plants import (
    NOW,
    random_evidence,
    random_people,
    random_plant,
    random_weather,
)

from rules.checks.notes import notes
from rules.checks.places import component_for, row_of
from rules.diagnosis import diagnose
from rules.diagnosis.measuring import SLIP, chance, homes_touched, speaks_for, wrong_word
from rules.faults.catalogue import checks
from rules.model import Evidence, Found
from tests.networks import belief_of, log_evidence

seeds = st.integers(0, 10_000)
quick = settings(max_examples=8)


def scene(seed):
    """Plant, evidence, people and weather of a seed."""
    draw = np.random.default_rng(seed)
    plant = random_plant(draw, int(draw.integers(2, 9)))
    return plant, random_evidence(draw, plant), random_people(draw, plant), random_weather(draw)


@quick
@given(seeds, st.randoms(use_true_random=False))
def test_the_order_of_evidence_does_not_matter(seed, random):
    """Facts and people in any order: the same groups and the same posterior."""
    plant, evidence, people, weather = scene(seed)
    other_evidence, other_people = list(evidence), list(people)
    random.shuffle(other_evidence)
    random.shuffle(other_people)

    one = diagnose(plant, evidence, people, weather, NOW)
    other = diagnose(plant, other_evidence, other_people, weather[::-1], NOW)

    assert [g.apartments for g in other.groups] == [g.apartments for g in one.groups]
    assert other.belief.states == pytest.approx(one.belief.states, abs=1e-12)
    for a, b in zip(one.groups, other.groups, strict=True):
        assert [n.says for n in notes(one, a)] == [n.says for n in notes(other, b)]


@quick
@given(seeds)
def test_probabilities_sum_to_one(seed):
    """Over states, over each home's own states, and over suspects with what is not listed."""
    plant, evidence, people, weather = scene(seed)

    diagnosis = diagnose(plant, evidence, people, weather, NOW)

    assert float(diagnosis.belief.states.sum()) == pytest.approx(1, abs=1e-9)
    assert float(diagnosis.belief.onsets.sum()) == pytest.approx(1, abs=1e-9)
    for home in diagnosis.belief.homes.values():
        assert home.opened.own_given_key.sum(axis=2) == pytest.approx(1, abs=1e-9)
        assert float(np.exp(home.log_prior).sum()) == pytest.approx(1, abs=1e-9)
    for cause in diagnosis.causes.values():
        assert float(cause.shared.sum() + cause.own.sum()) <= 1 + 1e-9
    for group in diagnosis.groups:
        assert all(0 <= s.probability <= 1 for s in group.suspects)
        listed = sum(s.probability for s in group.suspects)
        assert listed + group.unknown == pytest.approx(1, abs=1e-9)


@quick
@given(seeds)
def test_whom_no_shared_fault_reaches_changes_nothing(seed):
    """A home that looks the same in every shared state, whatever it says, moves no shared fault."""
    draw = np.random.default_rng(seed)
    log_prior = np.log(draw.dirichlet(np.ones(9)))
    homes = [(draw.random((4, 5)), draw.integers(0, 4, size=9)) for _ in range(3)]
    unreached = draw.random((1, 5)), np.zeros(9, dtype=np.intp)

    one, other = (belief_of(log_prior, tables, 8) for tables in (homes, [*homes, unreached]))

    assert other.states == pytest.approx(one.states, abs=1e-12)
    added = log_evidence(other) - log_evidence(one)
    assert added == pytest.approx(np.log(unreached[0].sum()))


def healthy_readings(plant, suspect, check, apartments):
    """A check as a healthy plant shows it, made where it is made for that suspect."""
    place = component_for(plant, check, suspect, apartments)
    if place is None:
        return
    for good in check.healthy:
        value = None if good.reads is None else sum(good.reads) / 2
        yield Found(check.id, place, value, good.unit, good.calling, good.outcome)


def contradiction(fact):
    """What a fault gives a reading that it excludes: a slip, or one of the wrong words.

    Where a fault leaves nothing to read, one in ten notes what is usual: that contradicts it little, and
    less than the faults that are excluded beside it.
    """
    return SLIP if fact.outcome is None else wrong_word(checks()[fact.check])


def bears_on(plant, suspect, fact, complaining):
    """A reading at a part that several complaining homes share weighs what they share, not their own."""
    touched = homes_touched(plant, fact.component) & set(complaining)
    return len(suspect.reaches) > 1 or len(touched) <= 1


@quick
@given(seeds, st.integers(0, 1000))
def test_a_healthy_reading_never_raises_a_fault_that_it_contradicts(seed, choice):
    """Any suspect, any of its checks, read as in a healthy plant: the suspect is no likelier for it."""
    plant, evidence, people, weather = scene(seed)
    before = diagnose(plant, evidence, people, weather, NOW)
    group = before.groups[choice % len(before.groups)]
    against = [
        (suspect, fact)
        for suspect in group.suspects
        for row in row_of(plant, suspect).checks
        for fact in healthy_readings(plant, suspect, checks()[row.check], group.apartments)
        if speaks_for(row_of(plant, suspect), fact)
        and bears_on(plant, suspect, fact, before.causes)
        and chance(speaks_for(row_of(plant, suspect), fact), fact) <= contradiction(fact)
        and not any(f.check == row.check for f in before.findings)
    ]
    if not against:
        return
    suspect, fact = against[choice % len(against)]

    after = diagnose(plant, [*evidence, Evidence("finding:t_9", NOW, fact)], people, weather, NOW)

    named = (suspect.fault, suspect.component)
    found = [
        s.probability
        for g in after.groups
        if set(g.apartments) == set(group.apartments)
        for s in g.suspects
        if (s.fault, s.component) == named
    ]
    if found:
        assert found[0] <= suspect.probability + 1e-9, (named, fact)
