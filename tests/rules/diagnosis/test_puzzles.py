"""What cannot be right is said, and what no tenant can tell apart is named with what can."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from conftest import NOW, report, weather

from rules.checks.notes import notes
from rules.data import table
from rules.diagnosis import diagnose
from rules.diagnosis.answers import answer_values, replies
from rules.diagnosis.moment import Since
from rules.diagnosis.puzzles import contradictions, unsplit
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    RoomRead,
    TopicId,
)

LOOP_1_COLD = [
    report("1A", "too_cold", hours_ago=5),
    report("2B", "too_cold", hours_ago=3),
    report("2C", "too_cold", hours_ago=1),
]


def found(check, component, value, unit="V", *, calling=True, hours_ago=0.0):
    """A technician's reading; all readings of a ticket have one source, as in the service."""
    return Evidence(
        "finding:t_1",
        NOW - timedelta(hours=hours_ago),
        Found(CheckId(check), ComponentId(component), value, unit, calling),
    )


def answer(apartment, topic, means):
    """A household's answer."""
    return Evidence(
        f"m_{apartment}_{topic}", NOW, Answered(ApartmentId(apartment), TopicId(topic), means)
    )


@pytest.fixture
def puzzled(plant, households):
    """Contradictions of the first group."""

    def look(evidence):
        diagnosis = diagnose(plant, evidence, households, weather(), NOW)
        return contradictions(diagnosis, diagnosis.groups[0])

    return look


# A relay's coil takes its 24 V from the transformer (trade articles on series circuits: no source, no
# volts anywhere), and one point cannot show two voltages.
IMPOSSIBLE = [
    (("coil_volts", "relay-1", 24), ("sec_volts", "xf-1", 0)),
    (("sec_volts", "xf-1", 26), ("sec_volts", "xf-1", 0)),
    (("motor_volts", "2B.valve", 26), ("sec_volts", "xf-1", 0)),
]


@pytest.mark.parametrize(("one", "two"), IMPOSSIBLE)
def test_readings_that_cannot_both_be_are_named_together(puzzled, one, two):
    """Volts behind a dead transformer, or two voltages at one point, are said in words."""
    lines = puzzled([*LOOP_1_COLD, found(*one), found(*two)])

    assert len(lines) == 1
    assert lines[0].says.startswith("These two cannot both be right: ")
    assert f"{one[0]} at {one[1]} calling: {one[2]} V" in lines[0].says
    assert f"{two[0]} at {two[1]} calling: {two[2]} V" in lines[0].says
    assert lines[0].fit < 0.1


# Two readings that one fault, or two, explain (common practice, no source).
POSSIBLE = [
    [found("coil_volts", "relay-1", 0), found("sec_volts", "xf-1", 26)],
    [found("coil_volts", "relay-1", 24), found("pump_volts", "pump-1", 0)],
    [found("pump_volts", "pump-1", 120), found("pump_amps", "pump-1", 0.0, "A")],
    [found("motor_volts", "2B.valve", 0), found("coil_volts", "relay-1", 0)],
    [found("sec_volts", "xf-1", 26), found("sec_volts", "xf-1", 26, calling=False)],
    [found("coil_volts", "relay-1", 26), found("coil_volts", "relay-1", 0, calling=False)],
]


@pytest.mark.parametrize("readings", POSSIBLE)
def test_readings_that_a_fault_explains_are_no_contradiction(puzzled, readings):
    """What is merely rare, or takes two faults, is left alone."""
    assert puzzled([*LOOP_1_COLD, *readings]) == ()


def test_a_reading_before_and_one_after_a_repair_are_no_contradiction(puzzled):
    """Readings of two visits may both have been right."""
    before = found("sec_volts", "xf-1", 0, hours_ago=20)

    assert puzzled([*LOOP_1_COLD, before, found("sec_volts", "xf-1", 26)]) == ()


def test_contradicting_readings_leave_everything_else_as_it_was(plant, households):
    """No crash, no suspect above all others by a reading that its opposite takes back."""
    pair = [found("sec_volts", "xf-1", 26), found("sec_volts", "xf-1", 0)]

    without = diagnose(plant, LOOP_1_COLD, households, weather(), NOW).groups[0]
    with_pair = diagnose(plant, [*LOOP_1_COLD, *pair], households, weather(), NOW).groups[0]

    assert with_pair.apartments == without.apartments
    assert sum(s.probability for s in with_pair.suspects) <= 1 + 1e-9
    assert with_pair.suspects[0].probability < 0.5


@pytest.mark.parametrize(
    "evidence",
    [
        [report("3B", "too_hot", hours_ago=3), answer("3B", "q_up", "stays_cold")],
        [answer("3B", "q_screen", "blank"), answer("3B", "q_mode", "off")],
        [
            report("3B", "too_hot", hours_ago=3),
            Evidence("m_read", NOW, RoomRead(ApartmentId("3B"), 55.0, 70.0)),
        ],
    ],
)
def test_what_a_household_says_that_hardly_goes_together_is_said(puzzled, evidence):
    """Too hot where turning up brings no heat, or a mode read off a dark screen: ask again."""
    first = [] if evidence[0].source == "m_3B" else [report("3B", "too_cold", hours_ago=8)]

    lines = puzzled([*first, *evidence])

    assert len(lines) == 1
    assert lines[0].says.startswith("These two hardly go together: 3B ")


def test_a_plain_story_is_no_contradiction(puzzled):
    """Cold, radiator cold, no use turning up, 60 F: every word fits every other."""
    story = [
        report("3B", "too_cold", hours_ago=8),
        answer("3B", "q_hot", "cold"),
        answer("3B", "q_up", "stays_cold"),
        answer("3B", "q_screen", "normal"),
        Evidence("m_read", NOW, RoomRead(ApartmentId("3B"), 60.0, 70.0)),
    ]

    assert puzzled(story) == ()


def test_a_dead_transformer_and_a_blown_fuse_look_alike_to_tenants(plant, households):
    """Common practice, no source: one needs a meter across the fuse to tell them apart."""
    dead = found("sec_volts", "xf-1", 0, calling=None)
    diagnosis = diagnose(plant, [*LOOP_1_COLD, dead], households, weather(), NOW)
    group = diagnosis.groups[0]

    sets = [{str(s.fault) for s in found_set} for found_set in unsplit(diagnosis, group)]

    assert any({"transformer_dead", "fuse_blown"} <= s for s in sets)
    said = [n.says for n in notes(diagnosis, group) if n.about == "unsplit"]
    assert any("24 V transformer is dead (xf-1)" in line for line in said)
    assert any("This measurement does: Measure volts across the control fuse" in x for x in said)


def test_what_one_question_splits_is_no_set(plant, households):
    """Whoever looks at the screen tells dead batteries from a dead motor."""
    diagnosis = diagnose(plant, [report("3B", "too_cold", hours_ago=8)], households, weather(), NOW)

    sets = [
        {str(s.fault) for s in found_set} for found_set in unsplit(diagnosis, diagnosis.groups[0])
    ]

    assert not any({"stat_batteries_dead", "valve_motor_dead"} <= s for s in sets)


def test_every_note_is_a_sentence_and_none_is_said_twice(plant, households):
    """Whatever is noted ends, and stands once."""
    evidence = [*LOOP_1_COLD, found("coil_volts", "relay-1", 24), found("sec_volts", "xf-1", 0)]
    diagnosis = diagnose(plant, evidence, households, weather(), NOW)

    said = [n.says for n in notes(diagnosis, diagnosis.groups[0])]

    assert {n.about for n in notes(diagnosis, diagnosis.groups[0])} >= {"contradiction", "unsplit"}
    assert len(set(said)) == len(said)
    assert all(line.endswith(".") and "  " not in line and ".." not in line for line in said)


def test_few_states_of_a_home_answer_as_they_do_among_all(plant, households):
    """Every question, in some looks and own states picked out: the tables of the whole class."""
    diagnosis = diagnose(plant, LOOP_1_COLD, households, weather(), NOW)
    space, kind = diagnosis.belief.space, diagnosis.belief.homes[ApartmentId("2B")].kind
    looks = np.unique([kind.nothing, 0, *kind.singles[1][:5], kind.shape[0] - 1])
    own = [0, 1, 4, kind.shape[1] - 1]
    few, since = kind.only(looks, own), Since(np.array([0.5, 6.0]), np.array([0.0, 0.7]))
    look, state = (m.reshape(-1) for m in np.indices((len(looks), len(own))))

    for question in table("questions"):
        topic = TopicId(question["id"])
        if not (values := answer_values(topic)):
            continue
        for onset in (0, 1):
            at = np.full(len(look), onset)
            alone = replies(space, few, topic).chances(since, at, look, state, len(values))
            among = replies(space, kind, topic).chances(
                since, at, looks[look], np.array(own)[state], len(values)
            )
            assert alone == pytest.approx(among, abs=1e-12), topic
