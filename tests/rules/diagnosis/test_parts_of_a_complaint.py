"""A complaint may have two causes, or say nothing definite; what is shared is still one ticket."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.blame import blame_of
from rules.model import Answered, ApartmentId, Evidence, Household, Noise, TopicId
from tests.houses import built

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


def answered(apartment, topic, means):
    """What a home has answered by now."""
    fact = Answered(ApartmentId(apartment), TopicId(topic), means)
    return Evidence(f"{apartment}-{topic}", NOW, fact)


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


def test_something_else_from_a_cold_house_is_on_the_boilers_ticket(look):
    """ "It acts up again" from a cold house is about the cold until it says more (common practice)."""
    assert "3B" in group_of(look(*DEAD_BOILER, report("3B", "other", hours_ago=2)), "1A").apartments


def test_something_else_alone_is_hardly_anything_of_the_heating(look):
    """A detector that chirps, dust, a lock: most of what has no kind of its own (common practice)."""
    (group,) = look(report("3B", "other")).groups
    assert group.unknown > 0.7
    assert all(s.probability < 0.1 for s in group.suspects)


def test_something_else_from_two_homes_is_two_tickets_and_no_tempering_valve(look):
    """Two toilets are no scalding tap, of which nobody has spoken."""
    diagnosis = look(report("3B", "other", hours_ago=2), report("1A", "other", hours_ago=1))
    assert [g.apartments for g in diagnosis.groups] == [("1A",), ("3B",)]
    assert all(g.unknown > 0.5 for g in diagnosis.groups)


def test_two_homes_whose_taps_scald_are_one_ticket_of_the_tempering_valve(look):
    """Water over 125 F in two homes is the tempering valve they share (common practice)."""
    said = [report("3B", "other", hours_ago=2), report("1A", "other", hours_ago=1)]
    said += [answered(home, "q_dhw", "too_hot") for home in ("3B", "1A")]
    (group,) = look(*said).groups
    assert group.suspects[0].fault == "dhw_mix_hot"
    assert group.suspects[0].probability > 0.8


def test_a_dark_screen_reported_as_something_else_is_the_thermostats(look):
    """A battery thermostat that is blank wants batteries (common practice)."""
    said = (report("3B", "other"), answered("3B", "q_screen", "blank"))
    (group,) = look(*said).groups
    assert group.suspects[0].fault == "stat_batteries_dead"
    assert group.suspects[0].probability > 0.4


def test_dark_screens_reported_as_something_else_are_the_transformers():
    """Screens without batteries that go dark in several homes have lost their 24 V (common practice)."""
    document = house()
    for home in document["apartments"]:
        home["thermostat"]["kind"] = "powered"
    plant = built(document)
    homes = [a.id for a in plant.apartments if a.loop == "loop-1"][:2]
    said = [report(home, "other", hours_ago=2) for home in homes]
    said += [answered(home, "q_screen", "blank") for home in homes]
    people = [Household(a.id) for a in plant.apartments]
    (group,) = diagnose(plant, said, people, weather(22.0), NOW).groups
    assert {s.fault for s in group.suspects[:3]} & {"transformer_dead", "fuse_blown"}


def test_shares_of_own_and_shared_faults_follow_a_count_of_all_states(look):
    """By brute force over every onset, shared look and own state of one home.

    With h how likely the own fault alone makes what was said, against both, and s the shared one
    alone: of the complaint h / n is the own fault's doing alone, s / n the shared one's, and what is
    left of one took both, n being the larger of one and h + s.
    """
    ticks = report("3B", "too_cold", "noise", hours_ago=2, noise=Noise.TICK)
    belief = look(*DEAD_BOILER, ticks).belief
    home = belief.homes[ApartmentId("3B")]
    logs = home.total.logs[:, home.keys.of_look][:, :, home.keys.of_own]
    prior = home.log_prior
    given = np.exp(logs + prior - np.logaddexp.reduce(logs + prior, axis=-1)[..., None])
    by_home = np.exp(np.minimum(logs[:, [home.kind.nothing]] - logs, 0.0))
    by_shared = np.exp(np.minimum(logs[:, :, :1] - logs, 0.0))
    by_home[:, :, 0], by_shared[:, :, 0] = 0.0, 1.0
    n = np.maximum(by_home + by_shared, 1.0)
    both = 1 - (by_home + by_shared) / n
    # As if every shared fault explained what was said; of the look of none all is the home's own.
    by_shared[:, home.kind.nothing], both[:, home.kind.nothing] = 0.0, 0.0
    by_home[:, home.kind.nothing] = n[:, home.kind.nothing]
    blame = blame_of(home, np.append(np.ones(len(belief.space.shared)), 0.0))
    assert blame.touched == pytest.approx((given * (by_shared / n + both)).sum(axis=2), abs=1e-9)
    assert blame.left == pytest.approx((given * (by_shared / n + both / 2)).sum(axis=2), abs=1e-9)
    chance = home.prior_of_key / home.likely_of_key[:, blame.key, None]
    own = (blame.own * chance)[:, blame.case]
    by_key = np.zeros_like(own)
    for state, key in enumerate(home.keys.of_own):
        by_key[:, :, key] += (given * (by_home / n + both / 2))[:, :, state]
    assert own == pytest.approx(by_key, abs=1e-9)
