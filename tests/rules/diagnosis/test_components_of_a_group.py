"""The components of a group: what their faults have together, in the order in which to look."""

from __future__ import annotations

from collections import defaultdict

import pytest
from conftest import NOW, report, weather

from rules.diagnosis import diagnose

WORTH_NAMING = 0.005


@pytest.mark.parametrize(
    "evidence",
    [
        (report("1B", "too_cold", hours_ago=2),),
        (report("1B", "no_hot_water", hours_ago=2),),
        (report("1A", "too_cold", hours_ago=3), report("1B", "too_cold", hours_ago=1)),
        (report("1A", "too_cold", "no_hot_water"), report("4C", "too_hot"), report("2B", "noise")),
    ],
)
def test_a_component_has_all_that_its_faults_have(plant, households, evidence):
    """Added up from the causes of the complaints, not from the list, which ends after twelve."""
    diagnosis = diagnose(plant, evidence, households, weather(), NOW)
    space = diagnosis.belief.space

    for group in diagnosis.groups:
        count = len(group.apartments)
        expected = defaultdict(float)
        for n, candidate in enumerate(space.shared):
            mean = sum(diagnosis.causes[home].shared[n] for home in group.apartments) / count
            if mean >= WORTH_NAMING:
                expected[candidate.component] += mean
        for home in group.apartments:
            for candidate, chance in zip(
                space.local(home), diagnosis.causes[home].own[1:], strict=True
            ):
                if chance / count >= WORTH_NAMING:
                    expected[candidate.component] += chance / count
        assert dict(group.components) == pytest.approx(expected)

        listed = defaultdict(float)
        for suspect in group.suspects:
            listed[suspect.component] += suspect.probability
        assert list(listed)[:3] == [c for c, _ in group.components[:3]]
        assert all(dict(group.components)[c] >= p - 1e-12 for c, p in listed.items())
        assert group.components[0][1] == pytest.approx(max(expected.values()))


def test_a_component_of_many_small_faults_is_not_understated(plant, households):
    """Of one cold home the list leaves something out, and the components do not."""
    diagnosis = diagnose(plant, (report("1B", "too_cold"),), households, weather(), NOW)
    (group,) = diagnosis.groups

    named = sum(suspect.probability for suspect in group.suspects)
    assert named + 0.01 < sum(chance for _, chance in group.components) <= 1
