"""The 24 V call chain R - thermostat - valve motor - C, as published trade teaching has it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.diagnosis.measuring import chance, speaks_for
from rules.faults.catalogue import faults
from rules.heat.circuit import Element, volts_across
from rules.model import CheckId, ComponentId, FaultId, Found


def chain(*opened: str) -> list[Element]:
    """The call chain with a call present, some elements open."""
    return [
        Element("thermostat", "switch", "thermostat" in opened),
        Element("wire", "switch", "wire" in opened),
        Element("motor", "load", "motor" in opened),
    ]


# Trade articles on switch voltage (two agree): 24 V across what is open, 0 V across what is closed.
TRUTH = [
    ("healthy call", 24, (), {"thermostat": 0, "wire": 0, "motor": 24}),
    ("no power", 0, (), {"thermostat": 0, "wire": 0, "motor": 0}),
    ("thermostat open", 24, ("thermostat",), {"thermostat": 24, "wire": 0, "motor": 0}),
    ("wire open", 24, ("wire",), {"thermostat": 0, "wire": 24, "motor": 0}),
    ("winding open", 24, ("motor",), {"thermostat": 0, "wire": 0, "motor": 24}),
]


@pytest.mark.parametrize(("name", "source_v", "opened", "expected"), TRUTH)
def test_truth_table(name, source_v, opened, expected):
    """Across an open switch the source, across a closed one nothing."""
    assert volts_across(source_v, chain(*opened)) == expected, name


@pytest.mark.parametrize(
    ("open_switch", "expected"),
    [(True, {"end switch": 24, "relay": 0}), (False, {"end switch": 0, "relay": 24})],
)
def test_end_switch_circuit(open_switch, expected):
    """24 V across the end switch after full stroke: it is open; 0 V: look further on."""
    found = volts_across(
        24, [Element("end switch", "switch", open_switch), Element("relay", "load")]
    )

    assert found == expected


@given(st.lists(st.booleans(), min_size=1, max_size=6), st.booleans())
def test_at_most_one_element_shows_the_full_voltage(switches, broken_load):
    """In any energised series circuit exactly one element shows the source, or the reading is void."""
    elements = [Element(f"s{n}", "switch", is_open) for n, is_open in enumerate(switches)]
    elements.append(Element("load", "load", broken_load))

    volts = volts_across(24, elements)

    gaps = sum(e.is_open for e in elements)
    assert sum(v == 24 for v in volts.values()) == (1 if gaps <= 1 else 0)
    assert (None in volts.values()) == (gaps > 1)


def test_a_circuit_without_a_load_is_refused():
    """A series circuit without a load is a short, not a circuit."""
    with pytest.raises(ValueError, match="one load"):
        volts_across(24, [Element("thermostat", "switch")])


# Which element of the chain each fault opens, and what the meter is put across in each check.
OPENS = {
    "stat_not_calling": ("thermostat",),
    "stat_batteries_dead": ("thermostat",),
    "stat_wire_open": ("wire",),
    "valve_motor_dead": ("motor",),
}


@pytest.mark.parametrize("fault", sorted(OPENS))
def test_the_catalogue_reads_as_the_circuit_says(fault):
    """What fault rows expect at the valve's motor is what the circuit shows, while calling."""
    volts = volts_across(26, chain(*OPENS[fault]))["motor"]
    found = Found(CheckId("motor_volts"), ComponentId("1A.valve"), volts, "V", calling=True)
    opposite = Found(
        CheckId("motor_volts"), ComponentId("1A.valve"), 26.0 - volts, "V", calling=True
    )
    row = faults()[FaultId(fault)]

    agrees = chance(speaks_for(row, found), found)
    contradicts = chance(speaks_for(row, opposite), opposite)

    assert agrees > 10 * contradicts


def test_a_called_healthy_motor_has_24_to_28_volts_and_none_when_not_called():
    """Common practice, no source: about 24 to 28 V AC across a called motor and 0 when not."""

    def healthy(value, calling):
        found = Found(CheckId("motor_volts"), ComponentId("1A.valve"), value, "V", calling)
        return chance((), found)

    assert healthy(24.0, True) == healthy(28.0, True) > 10 * healthy(0.0, True)
    assert healthy(0.0, False) > 10 * healthy(24.0, False)
