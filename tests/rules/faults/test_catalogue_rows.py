"""The rows of faults, checks and parts: whole, consistent, distinguishable, safe to show."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import pytest

from rules.data import table
from rules.faults.catalogue import checks, faults, faults_on_risers, parts
from rules.faults.rows import CheckReading, Fault
from rules.model import CheckId, FaultId
from rules.plant import vocabulary

# Pairs that stand at the same class of component and that no check tells apart, with the reason.
LOOK_ALIKES = {
    frozenset(
        {"valve_motor_dead", "heat_motor_slow_or_open"}
    ): "they sit in different kinds of valve",
    frozenset(
        {"emitter_dirty", "dust_burn_off"}
    ): "the same dust: one is told as cold, one as a smell",
    frozenset(
        {"expectation_set_point", "low_water_temp_misread"}
    ): "nothing is broken in either: what the tenant says of the radiator parts them",
}
# A row for the worse degree of a trouble that the trade's list names once, and the row of that name.
WORSE_DEGREES = {
    "strainer_blocked": "strainer_clogged",
    "balance_shut": "balance_error",
    "air_locked_loop": "air_bound_loop",
    "air_locked_zone": "air_bound_zone",
}
# The same part of a riser: the trade's list has one name for all main vents of steam.
ON_A_RISER = {"steam_riser_vent_failed": "steam_main_vent_failed"}
# The same leak: the fill valve keeps up with it, or it does not and takes the heat along.
NOT_MADE_UP = {"system_leak_not_made_up": "system_leak"}
LET_MORE_BY = {"check_valve_stays_open": "check_valve_leaking"}  # the same of what gets by
BESIDE_THE_LIST = {"tap_keeps_hot_back"}  # no heating fault, but reported as one
NOTHING_IS_BROKEN = {"expectation_set_point", "low_water_temp_misread"}
EVERY_FAULT = (
    *(fault for fault in faults().values() if fault.at != "riser"),
    *faults_on_risers().values(),
)


def _shown(fault: Fault, check: CheckId) -> tuple[CheckReading, ...]:
    """What a check shows under a fault; a fault that does not name it leaves it healthy."""
    own = tuple(r for r in fault.checks if r.check == check)
    return own or checks()[check].healthy


def _apart(one: CheckReading, other: CheckReading) -> bool:
    if one.outcome is not None or other.outcome is not None:
        return one.outcome != other.outcome
    assert one.reads is not None
    assert other.reads is not None
    return one.reads[1] < other.reads[0] or other.reads[1] < one.reads[0]


def _comparable(
    one: tuple[CheckReading, ...], other: tuple[CheckReading, ...]
) -> Iterator[list[tuple[CheckReading, CheckReading]]]:
    """Pairs of readings of one check in the same state of the call and in the same unit."""
    for calling in (True, False):
        for unit in {r.unit for r in one} & {r.unit for r in other}:
            left = [r for r in one if r.unit == unit and r.calling in (None, calling)]
            right = [r for r in other if r.unit == unit and r.calling in (None, calling)]
            if left and right:
                yield [(a, b) for a in left for b in right]


def _splits(one: tuple[CheckReading, ...], other: tuple[CheckReading, ...]) -> bool:
    return any(all(_apart(a, b) for a, b in pairs) for pairs in _comparable(one, other))


def _told_apart(one: Fault, other: Fault) -> bool:
    named = {r.check for r in (*one.checks, *other.checks)}
    return any(_splits(_shown(one, c), _shown(other, c)) for c in named)


def test_catalogue_holds_the_trades_breadth() -> None:
    """Rows load, and cover every class of component and at least the 60 likeliest faults."""
    classes = {fault.at for fault in EVERY_FAULT}

    assert len(EVERY_FAULT) >= 60
    assert classes | {"cascade"} == {str(kind) for kind in vocabulary.ComponentKind}
    assert any(fault.shared_in_cascade for fault in EVERY_FAULT)
    assert len(checks()) == len(table("checks"))
    assert len(parts()) == len(table("parts"))


def test_faults_left_out_have_a_reason_and_no_row() -> None:
    """A fault is either a row or left out for a stated reason, never both."""
    left_out = table("faults_left_out")

    assert len({row["id"] for row in left_out}) == len(left_out)
    for row in left_out:
        assert set(row) == {"id", "why"}
        assert len(row["why"].split()) >= 5, row["id"]
        assert row["id"] not in faults()
    # The trade's own list names 159 modes (common practice, no source); some come in two degrees.
    degrees = WORSE_DEGREES | LET_MORE_BY | ON_A_RISER | NOT_MADE_UP
    assert set(degrees) | set(degrees.values()) <= set(faults())
    assert set(faults()) >= BESIDE_THE_LIST
    assert len(faults()) - len(degrees) - len(BESIDE_THE_LIST) + len(left_out) == 159


def test_the_worse_degree_of_a_trouble_lets_less_through() -> None:
    """What is weak heat in one row is as good as none in the other, at the same place."""
    for worse, weak in WORSE_DEGREES.items():
        full, part = faults()[FaultId(worse)], faults()[FaultId(weak)]
        assert (full.at, full.far_end, full.where) == (part.at, part.far_end, part.where)
        # About where a tenant says cold, and where lukewarm.
        assert full.change.flow * full.change.path <= 0.15
        assert 0.3 <= part.change.flow * part.change.path <= 0.6
    for worse, weak in LET_MORE_BY.items():
        assert faults()[FaultId(worse)].change.check_leak > 0.3
        assert 0.05 <= faults()[FaultId(weak)].change.check_leak <= 0.3


# What a technician may name although no fault row does yet: steam, and small hardware.


def test_every_check_and_part_is_used() -> None:
    """No check and no part stands in its table for nothing."""
    used_checks = {r.check for fault in EVERY_FAULT for r in fault.checks}
    used_parts = {part for fault in EVERY_FAULT for part in fault.parts}

    assert set(checks()) == used_checks
    assert set(parts()) == used_parts


def test_every_check_says_what_healthy_is() -> None:
    """Healthy figures in its instrument's range, or a healthy first word and another with a call."""
    for check in checks().values():
        assert check.healthy, check.id
        assert {r.check for r in check.healthy} == {check.id}
        for reading in check.healthy:
            if reading.reads is None:
                first = check.healthy[0]
                assert first.outcome == check.outcomes[0], check.id
                assert reading is first or {first.calling, reading.calling} == {False, True}
                assert reading.outcome in check.outcomes
                assert len(set(check.outcomes)) == len(check.outcomes) >= 2, check.id
            else:
                shown = check.range_in(reading.unit)
                assert shown is not None, check.id
                assert shown[0] <= reading.reads[0] <= reading.reads[1] <= shown[1]


@pytest.mark.parametrize("fault", EVERY_FAULT, ids=lambda fault: str(fault.id))
def test_readings_are_in_the_checks_own_terms(fault: Fault) -> None:
    """A row's readings use the unit, the instrument range and the words of their check."""
    assert len(fault.checks) >= 3
    for reading in fault.checks:
        check = checks()[reading.check]
        if reading.reads is None:
            assert reading.outcome in (*check.outcomes, check.nothing), reading
        else:
            shown = check.range_in(reading.unit)
            assert shown is not None
            assert reading.unit in {r.unit for r in check.healthy}, reading
            assert shown[0] <= reading.reads[0], reading
            assert reading.reads[1] <= shown[1], reading


def test_every_fault_can_be_proven() -> None:
    """Each fault has a reading that a healthy plant cannot show, unless nothing is broken."""
    unprovable = {
        fault.id
        for fault in EVERY_FAULT
        if not any(_splits((r,), checks()[r.check].healthy) for r in fault.checks)
    }

    assert unprovable == NOTHING_IS_BROKEN


def _meet(one: Fault, other: Fault) -> bool:
    """Whether one heat source can have both."""
    ours, theirs = set(one.where.source), set(other.where.source)
    return not ours or not theirs or bool(ours & theirs)


def test_faults_of_one_component_can_be_told_apart() -> None:
    """Any two faults at one class of component differ in some check, but for the listed pairs."""
    alike = {
        frozenset({one.id, other.id})
        for one, other in combinations(EVERY_FAULT, 2)
        if one.at == other.at and _meet(one, other) and not _told_apart(one, other)
    }

    assert alike == set(LOOK_ALIKES)


def test_no_two_rows_of_a_class_are_the_same() -> None:
    """Rows at one class of component never agree in change, checks, tells and reports at once."""
    seen: dict[str, str] = {}
    for fault in EVERY_FAULT:
        key = repr(
            (fault.at, fault.change, sorted(map(repr, fault.checks)), fault.tells, fault.reports)
        )
        assert key not in seen, f"{fault.id} is the same as {seen[key]}"
        seen[key] = fault.id


def test_every_fault_shows_itself_somehow() -> None:
    """A fault changes heat or tap water, or is heard, seen or spoken of."""
    for fault in EVERY_FAULT:
        spoken = fault.reports.model_dump(exclude_defaults=True)
        changed = fault.change.model_dump(exclude_defaults=True)
        assert spoken or changed, fault.id


def test_tells_use_topics_and_answers_of_the_questions() -> None:
    """Rows speak only of topics that are asked, and in the answers that are understood."""
    means = {
        row["id"]: {choice["means"] for choice in row.get("choices", ())}
        for row in table("questions")
    }
    for fault in EVERY_FAULT:
        for topic, answers in fault.tells.items():
            assert topic in means, f"{fault.id}: {topic}"
            assert set(answers) <= means[topic], f"{fault.id}: {topic}"
            assert sum(answers.values()) > 0, f"{fault.id}: {topic}"


def test_where_uses_the_words_of_a_building_file() -> None:
    """A condition that no building file can meet would hide its row for ever."""
    words: dict[str, tuple[str, ...]] = {
        "zoning": vocabulary.ZONINGS,
        "valve": vocabulary.VALVE_KINDS,
        "thermostat": vocabulary.THERMOSTAT_KINDS,
        "emitter": vocabulary.EMITTERS,
        "source": vocabulary.SOURCE_KINDS,
        "control": vocabulary.CONTROLS,
        "hot_water": vocabulary.HOT_WATERS,
    }
    for fault in EVERY_FAULT:
        for name, allowed in words.items():
            assert set(getattr(fault.where, name)) <= set(allowed), f"{fault.id}: {name}"
        if fault.at == "valve":
            assert fault.where.zoning == ("zone_valve",), fault.id


@pytest.mark.parametrize(
    ("fault_id", "median_years"),
    [
        # Pipe-mounted pumps: 10 years (ASHRAE equipment life chart).
        ("pump_seized", 10),
        # Self-contained valve actuators: 10 years (the same chart).
        ("heat_motor_slow_or_open", 10),
        ("heat_motor_stuck_hot", 10),
        # Electric transformers: 30 years (the same chart).
        ("transformer_dead", 30),
        # Motorised valve heads: 12 years (common practice, no source).
        ("valve_motor_dead", 12),
        ("end_switch_failed_open", 12),
    ],
)
def test_median_lives_are_the_published_ones(fault_id: str, median_years: float) -> None:
    """Wear rows carry the median life that the trade publishes for their part."""
    wear = next(f.wear for f in EVERY_FAULT if f.id == fault_id)

    assert wear is not None
    assert wear.median_years == median_years


def test_boiler_leak_median_lies_between_the_published_boilers() -> None:
    """One row serves condensing (15 years, CIBSE) and cast-iron boilers (35 years, ASHRAE)."""
    wear = next(f.wear for f in EVERY_FAULT if f.id == "heat_exchanger_leak")

    assert wear is not None
    assert 15 < wear.median_years < 35


@pytest.mark.parametrize(
    ("check_id", "calling", "low", "high", "unit"),
    [
        # All of these: common practice, no source.
        ("motor_volts", True, 24, 28, "V"),
        ("motor_volts", False, 0, 1, "V"),
        ("sec_volts", False, 24, 28, "V"),
        ("coil_volts", True, 24, 28, "V"),
        ("pump_volts", True, 115, 125, "V"),
        ("end_switch_lifted", True, 0, 1, "ohm"),
        ("ambient_co", None, 0, 9, "ppm"),
    ],
)
def test_healthy_figures_are_the_trades(
    check_id: str, calling: bool | None, low: float, high: float, unit: str
) -> None:
    """Healthy readings are those a technician carries in the head."""
    healthy: Any = next(c.healthy for c in checks().values() if c.id == check_id)

    assert (calling, (low, high), unit) in {(r.calling, r.reads, r.unit) for r in healthy}


def test_eight_checks_part_the_causes_of_a_dead_loop() -> None:
    """Volts, ohms, amps, handles and the check valve name what stopped a loop."""
    usual = {
        "transformer_dead",
        "fuse_blown",
        "relay_coil_dead",
        "relay_contact_burnt",
        "breaker_tripped_loop",
        "pump_seized",
        "pump_winding_open",
        "check_stuck_closed",
        "isolation_valve_closed_loop",
    }
    rows = [f for f in EVERY_FAULT if f.id in usual]
    boiler_room = {
        "fuse_check",
        "coil_volts",
        "coil_ohms",
        "pump_contact",
        "pump_volts",
        "pump_amps",
        "valve_handles",
        "check_touch",
    }

    alike = [
        {one.id, other.id}
        for one, other in combinations(rows, 2)
        if not any(_splits(_shown(one, c), _shown(other, c)) for c in map(CheckId, boiler_room))
    ]

    assert len(rows) == len(usual)
    assert alike == []


def test_tenants_are_never_sent_to_the_plant() -> None:
    """What a row asks of tenants touches no cover, reset, pilot, bypass, breaker or wiring."""
    risky = re.compile(
        r"\b(cover off|covers? open|reset|relight|pilot|bypass|jumper|breaker|screw|wire|wiring|"
        r"panel|gauge|isolat\w*|drain|bleed|tank)\b",
        re.IGNORECASE,
    )
    asked = 0
    for fault in EVERY_FAULT:
        for sentence in re.findall(r"Tenants?: (.*?)(?:\. (?=[A-Z]\w+:)|$)", fault.temporary):
            asked += 1
            assert not risky.search(sentence), f"{fault.id}: {sentence}"
    assert asked >= 20


def test_temporary_measures_say_whom_they_address() -> None:
    """Every temporary measure names its addressee, or says that there is none."""
    named = ("Tenant:", "Tenants:", "Superintendent:", "Technician:", "Owner:", "Everybody", "None")
    for fault in EVERY_FAULT:
        assert not fault.temporary or fault.temporary.startswith(named), fault.id


def test_gas_and_flue_work_defers_to_licensed_hands() -> None:
    """Faults of gas, flue or burner that endanger life say who may touch them."""
    for fault_id in ("gas_leak", "combustion_spill_co", "boiler_lockout", "pilot_out", "gas_off"):
        fault = next(f for f in EVERY_FAULT if f.id == fault_id)
        assert "licensed" in f"{fault.repair.do} {fault.caution}", fault_id
        assert "local code" in fault.caution, fault_id
    for check_id in ("gas_pressure", "flame_signal"):
        check = next(c for c in checks().values() if c.id == check_id)
        assert "Licensed" in check.before, check_id
