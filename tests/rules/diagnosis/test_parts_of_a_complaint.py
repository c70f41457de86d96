"""A complaint may have two causes, or say nothing definite; what is shared is still one ticket."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.exact import log_sum_exp
from rules.model import ApartmentId, Noise

DEAD_BOILER = [
    report("1A", "too_cold", "no_hot_water", hours_ago=5),
    report("2C", "too_cold", hours_ago=4),
    report("4A", "too_cold", "no_hot_water", hours_ago=3),
]


@pytest.fixture
def look(plant, households):
    """Diagnose with everybody reachable."""

    def diagnosed(*evidence, outdoor_f=22.0):
        return diagnose(plant, evidence, households, weather(outdoor_f), NOW)

    return diagnosed


def group_of(diagnosis, apartment):
    """The group that a complaint is in."""
    return next(g for g in diagnosis.groups if apartment in g.apartments)


def test_a_noise_of_ones_own_does_not_keep_a_cold_home_from_the_boilers_ticket(look):
    """The baseboard ticks and the boiler is out: the cold is the boiler's (common practice)."""
    ticks = report("3B", "too_cold", "noise", hours_ago=2, noise=Noise.TICK)
    group = group_of(look(*DEAD_BOILER, ticks), "3B")
    assert group.apartments == ("1A", "2C", "3B", "4A")
    assert group.scope == "source"


def test_a_noise_alone_beside_a_dead_boiler_is_a_ticket_of_its_own(look):
    """Nothing of what that home says is the boiler's doing."""
    ticks = report("3B", "noise", hours_ago=2, noise=Noise.TICK)
    assert group_of(look(*DEAD_BOILER, ticks), "3B").apartments == ("3B",)


def test_who_says_nothing_definite_while_the_boiler_is_out_is_on_its_ticket(look):
    """ "Please call me" from a cold building is about the cold (common practice, no source)."""
    assert "3B" in group_of(look(*DEAD_BOILER, report("3B", "other", hours_ago=2)), "1A").apartments


def test_who_says_nothing_definite_is_suspected_of_what_is_usual(look):
    """Of what a home may have, its thermostat's and valve's common faults stay suspects."""
    (group,) = look(report("3B", "other")).groups
    places = {s.component for s in group.suspects}
    assert {"3B.valve", "3B.thermostat"} <= places


def test_shares_of_own_and_shared_faults_follow_a_count_of_all_states(look):
    """By brute force over every onset, shared look and own state of one home.

    With h how likely the own fault alone makes what was said, against both, and s the shared one
    alone: of the complaint h / n is the own fault's doing alone, s / n the shared one's, and what is
    left of one took both, n being the larger of one and h + s.
    """
    ticks = report("3B", "too_cold", "noise", hours_ago=2, noise=Noise.TICK)
    home = look(*DEAD_BOILER, ticks).belief.homes[ApartmentId("3B")]
    logs = home.total.logs[:, home.keys.of_look][:, :, home.keys.of_own]
    prior = home.log_prior
    given = np.exp(logs + prior - log_sum_exp(logs + prior)[..., None])
    by_home = np.exp(np.minimum(logs[:, [home.kind.nothing]] - logs, 0.0))
    by_shared = np.exp(np.minimum(logs[:, :, :1] - logs, 0.0))
    by_home[:, :, 0], by_shared[:, :, 0] = 0.0, 1.0
    n = np.maximum(by_home + by_shared, 1.0)
    both = 1 - (by_home + by_shared) / n
    assert home.touched_by_shared == pytest.approx(
        (given * (by_shared / n + both)).sum(axis=2), abs=1e-9
    )
    assert home.left_to_shared == pytest.approx(
        (given * (by_shared / n + both / 2)).sum(axis=2), abs=1e-9
    )
