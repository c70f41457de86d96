"""What a heating engineer would expect of the diagnosis of a small house."""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW, report, weather
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rules.checks import order_checks
from rules.choosing.value import next_question, question_values
from rules.diagnosis import diagnose
from rules.faults.catalogue import faults
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    Household,
    Noise,
    RoomRead,
    TopicId,
)
from rules.parts import load_list


def answer(apartment: str, topic: str, means: str) -> Evidence:
    """A household's answer."""
    return Evidence(
        f"a_{apartment}_{topic}", NOW, Answered(ApartmentId(apartment), TopicId(topic), means)
    )


def found(check: str, component: str, value: float, unit: str = "V", *, calling=True) -> Evidence:
    """A technician's reading."""
    return Evidence(
        f"f_{check}_{component}",
        NOW,
        Found(CheckId(check), ComponentId(component), value, unit, calling),
    )


LOOP_1_COLD = [
    report("1A", "too_cold", hours_ago=5),
    report("2B", "too_cold", hours_ago=3),
    report("2C", "too_cold", hours_ago=1),
]


@pytest.fixture
def look(plant, households):
    """Diagnose with everybody reachable on a cold night."""

    def diagnosed(evidence, outdoor_f=22.0, people=None):
        return diagnose(plant, evidence, people or households, weather(outdoor_f), NOW)

    return diagnosed


def total(group, *components):
    """Probability of the suspects at these components."""
    return sum(s.probability for s in group.suspects if s.component in components)


def test_three_cold_homes_of_one_loop_are_one_ticket_about_that_loop(look):
    """Complaints on one loop, silence on the other: one group whose suspects feed that loop."""
    (group,) = look(LOOP_1_COLD).groups

    assert group.apartments == ("1A", "2B", "2C")
    assert (group.scope, group.component) == ("loop", "loop-1")
    assert {s.component for s in group.suspects[:3]} <= {"pump-1", "relay-1", "loop-1", "xf-1"}
    assert total(group, "boiler-1") < 0.1


def test_the_silence_of_the_other_loop_is_what_clears_the_boiler(look):
    """Without anybody who could have written, the boiler stays as likely as the loop."""
    reporting_only = [Household(ApartmentId(a)) for a in ("1A", "2B", "2C")]

    heard = look(LOOP_1_COLD)
    unheard = look(LOOP_1_COLD, people=reporting_only)

    assert total(unheard.groups[0], "boiler-1") > 5 * total(heard.groups[0], "boiler-1")


def test_a_hot_home_stays_apart_from_a_cold_loop(look):
    """A complaint that the shared fault does not explain is a ticket of its own."""
    groups = look([*LOOP_1_COLD, report("4A", "too_hot")]).groups

    assert [g.apartments for g in groups] == [("1A", "2B", "2C"), ("4A",)]
    assert groups[1].scope == "apartment"
    assert groups[1].suspects[0].component in ("4A.valve", "4A.thermostat")


def test_cold_homes_all_over_without_hot_water_are_the_boiler(look):
    """Both loops cold and no hot water from a tank on the same boiler: the heat source."""
    evidence = [
        report(a, "too_cold", "no_hot_water", hours_ago=2) for a in ("1A", "2B", "3C", "4A")
    ]

    (group,) = look(evidence).groups

    assert (group.scope, group.component) == ("source", "boiler-1")
    assert total(group, "boiler-1") > 0.8


def test_a_blank_screen_in_one_cold_home_is_its_batteries(look):
    """Common practice, no source: a blank battery thermostat in one cold home wants batteries."""
    (group,) = look([report("3B", "too_cold"), answer("3B", "q_screen", "blank")]).groups

    assert group.suspects[0].fault == "stat_batteries_dead"
    assert group.suspects[0].component == "3B.thermostat"
    assert group.suspects[0].probability > 0.6


def test_still_hot_after_turning_down_is_a_valve_thermostat_or_wire(look):
    """A home that stays hot when turned down: common practice names valve, thermostat, wire."""
    evidence = [report("3B", "too_hot"), answer("3B", "q_down", "still_hot")]

    (group,) = look(evidence, outdoor_f=45.0).groups

    assert {s.component for s in group.suspects[:2]} == {"3B.valve", "3B.thermostat"}
    assert total(group, "3B.valve", "3B.thermostat") > 0.7


def test_24_volts_at_the_motor_of_a_valve_that_is_not_called_clears_the_valve(look):
    """Common practice, no source: 24-28 V with no call is thermostat or wire, 0 V is the valve."""
    hot = [report("3B", "too_hot"), answer("3B", "q_down", "still_hot")]

    driven = look([*hot, found("motor_volts", "3B.valve", 26, calling=False)], 45.0).groups[0]
    at_rest = look([*hot, found("motor_volts", "3B.valve", 0.2, calling=False)], 45.0).groups[0]

    assert driven.suspects[0].component == "3B.thermostat"
    assert total(driven, "3B.valve") < 0.2
    assert at_rest.suspects[0].component == "3B.valve"
    assert total(at_rest, "3B.valve") > 0.8


def test_no_volts_from_the_transformer_points_to_it_and_good_volts_clear_it(look):
    """0 V on the secondary is transformer, fuse or bus; 26 V leaves pump and relay."""
    dead = look([*LOOP_1_COLD, found("sec_volts", "xf-1", 0, calling=None)]).groups[0]
    alive = look([*LOOP_1_COLD, found("sec_volts", "xf-1", 26, calling=None)]).groups[0]

    assert dead.suspects[0].component == "xf-1"
    assert total(alive, "xf-1") < total(look(LOOP_1_COLD).groups[0], "xf-1") / 3


def test_gurgling_is_air(look):
    """Common practice, no source: a gurgle in the pipes is air."""
    (group,) = look([report("4B", "noise", noise=Noise.GURGLE)]).groups

    assert "air" in group.suspects[0].fault


def test_two_complaints_in_different_loops_with_everybody_else_silent_stay_two(look):
    """Two single faults on one cold night are not forced into one cause."""
    groups = look(
        [
            report("1A", "too_cold", hours_ago=10),
            answer("1A", "q_screen", "blank"),
            report("4C", "too_cold", hours_ago=9),
            answer("4C", "q_up", "stays_cold"),
        ]
    ).groups

    assert [g.apartments for g in groups] == [("1A",), ("4C",)]


def test_probabilities_of_every_group_sum_to_at_most_one(look):
    """Suspects and something else make one."""
    for group in look([*LOOP_1_COLD, report("4A", "too_hot"), report("3C", "leak")]).groups:
        assert 0 < sum(s.probability for s in group.suspects) <= 1 + 1e-9
        assert sum(s.probability for s in group.suspects) + group.unknown == pytest.approx(1)


EVERYTHING = [
    *LOOP_1_COLD,
    report("4A", "too_hot", hours_ago=2),
    answer("1A", "q_hot", "cold"),
    answer("2B", "q_dhw", "normal"),
    answer("4A", "q_down", "still_hot"),
    Evidence("t_2C", NOW, RoomRead(ApartmentId("2C"), 58.0, 70.0)),
    found("sec_volts", "xf-1", 26, calling=None),
    found("coil_volts", "relay-1", 25),
]


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.permutations(EVERYTHING))
def test_the_order_of_evidence_does_not_matter(look, shuffled):
    """The same facts in any order give the same suspects."""
    expected, got = look(EVERYTHING), look(list(shuffled))

    assert [g.apartments for g in got.groups] == [g.apartments for g in expected.groups]
    for a, b in zip(expected.groups, got.groups, strict=True):
        assert [(s.fault, s.component) for s in a.suspects] == [
            (s.fault, s.component) for s in b.suspects
        ]
        assert [s.probability for s in a.suspects] == pytest.approx(
            [s.probability for s in b.suspects], abs=1e-9
        )


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from(
        [
            ("sec_volts", "xf-1", 26.0, None),
            ("coil_volts", "relay-1", 26.0, True),
            ("pump_volts", "pump-1", 120.0, None),
            ("motor_volts", "2B.valve", 26.0, True),
        ]
    )
)
def test_a_healthy_reading_never_raises_a_fault_that_it_contradicts(look, reading):
    """What reads healthy is not made more suspect by it."""
    check, component, value, calling = reading
    before = look(LOOP_1_COLD).groups[0]
    after = look([*LOOP_1_COLD, found(check, component, value, calling=calling)]).groups[0]

    def chance(group, suspect):
        return next(
            (
                s.probability
                for s in group.suspects
                if (s.fault, s.component) == (suspect.fault, suspect.component)
            ),
            0.0,
        )

    for suspect in before.suspects:
        expected = [r for r in faults()[suspect.fault].checks if r.check == check and r.reads]
        if expected and all(
            value < r.reads[0] - 5 or value > r.reads[1] + 5
            for r in expected
            if r.calling is None or calling is None or r.calling == calling
        ):
            assert chance(after, suspect) <= suspect.probability + 1e-9


def test_saying_it_twice_is_not_twice_the_evidence(look):
    """A household that repeats itself moves nothing."""
    again = Evidence("m_again", NOW, report("2C", "too_cold").fact)

    once, twice = look(LOOP_1_COLD).groups[0], look([*LOOP_1_COLD, again]).groups[0]

    assert [s.probability for s in twice.suspects] == pytest.approx(
        [s.probability for s in once.suspects]
    )


def test_no_complaint_no_group(look):
    """A silent building has nothing to say."""
    assert look([]).groups == ()


def test_every_piece_of_evidence_can_be_opened(look):
    """Why-lines carry the message they came from, and silence counts against the boiler."""
    (group,) = look(LOOP_1_COLD).groups

    sources = {line.source for line in group.why}
    assert {"m_1A", "m_2B", "m_2C", None} <= sources
    silence = next(line for line in group.why if line.source is None)
    assert silence.weight > 0


def test_the_next_question_is_never_one_that_is_known_or_asked(look):
    """Walking through all questions of a complaint never repeats one and comes to an end."""
    diagnosis = look([report("3B", "too_cold")])
    asked: set[TopicId] = set()

    while (topic := next_question(diagnosis, ApartmentId("3B"), frozenset(), asked)) is not None:
        assert topic not in asked
        asked.add(topic)

    assert asked
    first = next_question(diagnosis, ApartmentId("3B"), frozenset(), set())
    assert next_question(diagnosis, ApartmentId("3B"), {first}, set()) != first


def test_a_question_about_what_is_certain_is_worth_little(look):
    """Once the screen is known to be blank, more questions are worth less than at first."""
    first = question_values(look([report("3B", "too_cold")]), ApartmentId("3B"))
    later = question_values(
        look([report("3B", "too_cold"), answer("3B", "q_screen", "blank")]), ApartmentId("3B")
    )

    assert max(later.values()) < max(first.values())


def test_checks_start_where_the_cause_may_be_shared_and_say_what_each_reading_means(look):
    """Boiler room before apartment for a loop, every step with a healthy reading and a meaning."""
    diagnosis = look(LOOP_1_COLD)

    steps = order_checks(diagnosis, diagnosis.groups[0])

    assert steps[0].place == "boiler_room"
    assert all(s.healthy and s.tells and s.minutes > 0 for s in steps)
    assert len({s.check for s in steps}) == len(steps)


def test_a_check_that_was_made_is_not_asked_for_again(look):
    """The list goes on from what was found."""
    diagnosis = look([*LOOP_1_COLD, found("sec_volts", "xf-1", 26, calling=None)])

    assert "sec_volts" not in {s.check for s in order_checks(diagnosis, diagnosis.groups[0])}


def test_the_load_list_carries_what_the_likeliest_repairs_use(look):
    """A dead loop wants a circulator on the truck, with the chance that it is used."""
    diagnosis = look(LOOP_1_COLD)

    loads = load_list(diagnosis, diagnosis.groups[0])

    assert loads[0].part == "circulator"
    assert all(0 < load.chance_used <= 1 for load in loads)
    assert [x.chance_used for x in loads] == sorted((x.chance_used for x in loads), reverse=True)


def test_a_cold_home_is_forecast_to_get_colder(look):
    """The forecast falls with time and from below the set point."""
    diagnosis = look(LOOP_1_COLD)

    forecast = diagnosis.room_forecast(ApartmentId("1A"), [0, 6, 12, 24])

    assert list(forecast) == sorted(forecast, reverse=True)
    assert forecast[0] < 70


@pytest.mark.parametrize("room_f", [61.0, 70.0])
def test_a_forecast_runs_through_the_thermometer(look, room_f):
    """What is read now is where the room is now, and it gets colder from there."""
    read = Evidence("read", NOW, RoomRead(ApartmentId("1A"), room_f, 70.0))
    diagnosis = look([*LOOP_1_COLD, read])

    now_f, later_f = diagnosis.room_forecast(ApartmentId("1A"), [0, 12])

    assert now_f == pytest.approx(room_f)
    assert later_f < now_f
    assert diagnosis.has_told_room(ApartmentId("1A"))
    assert not diagnosis.has_told_room(ApartmentId("1B"))


def test_evidence_of_unknown_apartments_is_ignored(plant, households):
    """A report from an apartment the plant does not have changes nothing."""
    stray = report("99Z", "too_cold")

    with_stray = diagnose(plant, [*LOOP_1_COLD, stray], households, weather(), NOW)

    assert [g.apartments for g in with_stray.groups] == [("1A", "2B", "2C")]


def test_an_hour_of_night_counts_less_than_an_hour_of_day(plant, households):
    """Asleep people do not write: the same wait clears the boiler less at night."""
    night = NOW + timedelta(hours=7)  # 1 am local
    day = NOW + timedelta(hours=17)  # 11 am local

    def boiler(at):
        moved = [Evidence(e.source, at - timedelta(hours=2), e.fact) for e in LOOP_1_COLD]
        return total(diagnose(plant, moved, households, weather(), at).groups[0], "boiler-1")

    assert boiler(night) > boiler(day)
