"""What a change shows at checks that the fault's row does not speak of.

A row names the readings that part it from others. What follows from its change alone (a valve without
volts stands still, a pump that is not switched on is cold, little flow leaves emitters lukewarm) is not
written into every row but derived here: else a check would take such a fault for a healthy plant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rules.faults.rows import Change, CheckReading, Fault
from rules.model import CheckId

__all__ = ["with_what_it_shows"]

_STROKE, _NEVER_S = CheckId("stroke_time"), 3600.0  # what is written for a valve that does not move
_END_SWITCH, _NO_CONTACT_OHM = CheckId("end_switch_lifted"), (1e6, 1e9)
_CLOSED_CONTACT_VOLTS = (0.0, 0.5)
_NO_VOLTS, _OPEN_CONTACT_VOLTS, _OPEN_LINE_VOLTS = (0.0, 1.0), (24.0, 28.0), (115.0, 125.0)
_NO_AMPS, _NO_LOAD_PERCENT = (0.0, 0.05), (0.0, 3.0)
_STILL_FLOW = 0.05  # of a circulator: its wheel does not turn
_EMITTERS, _PIPES = CheckId("emitter_temps"), CheckId("pipe_temps")
# What a hand or a thermometer finds where so little of the healthy flow, or of the source's output, is
# left; where two words stand, people call it one or the other (common practice, no source).
_WEAK: Mapping[CheckId, tuple[tuple[float, tuple[str, ...]], ...]] = {
    _EMITTERS: (
        (0.05, ("inlet_cold",)),
        (0.25, ("inlet_cold", "lukewarm")),
        (0.5, ("lukewarm",)),
        (0.85, ("lukewarm", "as_warm_as_supply")),
    ),
    _PIPES: (
        (0.05, ("both_cold",)),
        (0.25, ("both_cold", "outlet_lukewarm", "outlet_follows_call")),
        (0.85, ("outlet_lukewarm", "outlet_follows_call")),
    ),
}
# Water so much too cold makes emitters that are as warm as it lukewarm to whoever goes by feel.
_TEPID_BELOW_F = -20.0


def with_what_it_shows(fault: Fault) -> Fault:
    """The row with the readings that follow from its change and that it does not speak of itself."""
    derived = (*_at_relay_and_pump(fault), *_at_the_wires(fault.change), *_weak(fault.change))
    told = {reading.check for reading in fault.checks}
    return _held_still(_with(fault, *(r for r in derived if r.check not in told)))


def _at_relay_and_pump(fault: Fault) -> Iterator[CheckReading]:
    """A relay that does not pull in leaves its contacts open; a pump that stands makes no pressure."""
    change = fault.change
    is_out = change.relay == "dead" or change.power == "none"
    off = is_out or change.pump_contact == "open"
    if is_out and change.capacity:  # else line voltage is gone as well
        yield from _asked_by_another_loop_or_not()
        yield _volts("iso_contact", _OPEN_CONTACT_VOLTS, calling=True)
        yield _volts("pump_contact", _OPEN_LINE_VOLTS, calling=True)
    if off:
        yield _word("pump_feel", "silent_cold")
        yield CheckReading(check=CheckId("pump_amps"), reads=_NO_AMPS, unit="A", calling=True)
    if off or (fault.at == "circulator" and change.flow < _STILL_FLOW):
        yield _word("pump_dp", "near_zero")
        if change.power is None:
            yield _word("jumper_stat", "opens_no_pump")


def _asked_by_another_loop_or_not() -> Iterator[CheckReading]:
    """What the boiler is asked while one loop's relay is out goes by the other loops."""
    yield _volts("demand_pair", _CLOSED_CONTACT_VOLTS, calling=True)
    yield _volts("demand_pair", _OPEN_CONTACT_VOLTS, calling=True)


def _at_the_wires(change: Change) -> Iterator[CheckReading]:
    """Without 24 V, or with a motor or body that stays, nothing moves, whatever is joined."""
    stays = change.motor == "dead" and change.valve is None
    if stays or change.valve == "shut":
        yield _word("jumper_stat", "nothing_moves")
        yield _word("jumper_at_stat", "nothing_moves")
    if stays or change.call == "never" or change.power == "none":
        yield _word("lever_feel", "firm", calling=True)
    if change.call == "never":  # contacts that stay open keep the voltage across them
        yield _volts("stat_volts", _OPEN_CONTACT_VOLTS, calling=True)
    if change.power == "none":
        yield _word("jumper_stat", "nothing_moves")
        yield _word("jumper_at_stat", "nothing_moves")
        yield _volts("stat_volts", _NO_VOLTS)
        yield _volts("end_switch_volts", _NO_VOLTS)
        yield CheckReading(
            check=CheckId("sec_amps"), reads=_NO_LOAD_PERCENT, unit="percent", calling=True
        )


def _held_still(fault: Fault) -> Fault:
    """A valve that gets no power or no call stands as still as a broken one: its stroke never ends."""
    change = fault.change
    shut = change.motor == "dead" or change.power == "none" or change.call == "never"
    kept = {True: shut or change.valve is not None, False: change.valve == "open"}
    kept[False] = kept[False] or change.call == "always"
    told = {r.calling for r in fault.checks if r.check == _STROKE}
    strokes = tuple(
        CheckReading(check=_STROKE, reads=(_NEVER_S, _NEVER_S), unit="s", calling=calling)
        for calling, still in kept.items()
        if still and calling not in told
    )
    switches = () if _speaks_of(fault, _END_SWITCH) else _end_switch_of(change)
    return _with(fault, *strokes, *switches)


def _end_switch_of(change: Change) -> tuple[CheckReading, ...]:
    """A good end switch on a valve that does not open stays open; on one that is driven on, made."""
    shut = change.motor == "dead" or change.power == "none" or change.call == "never"
    if (shut and change.valve is None) or change.valve == "shut":
        reads, calling = _NO_CONTACT_OHM, True
    elif change.call == "always":
        reads, calling = (0.0, 1.0), False
    else:
        return ()
    return (CheckReading(check=_END_SWITCH, reads=reads, unit="ohm", calling=calling),)


def _weak(change: Change) -> Iterator[CheckReading]:
    """Little flow, or little heat in it, is found at the emitters and at the pipes before them."""
    left = change.flow * change.capacity
    for check, degrees in _WEAK.items():
        words = next((said for most, said in degrees if left <= most), ())
        yield from (_word(check, word) for word in words)
    if left == 1 and change.water_shift_f <= _TEPID_BELOW_F:
        yield from (_word(_EMITTERS, word) for word in ("as_warm_as_supply", "lukewarm"))


def _word(check: str, outcome: str, *, calling: bool | None = None) -> CheckReading:
    return CheckReading(check=CheckId(check), outcome=outcome, calling=calling)


def _volts(check: str, reads: tuple[float, float], *, calling: bool | None = None) -> CheckReading:
    return CheckReading(check=CheckId(check), reads=reads, unit="V", calling=calling)


def _speaks_of(fault: Fault, check: CheckId) -> bool:
    return any(reading.check == check for reading in fault.checks)


def _with(fault: Fault, *readings: CheckReading) -> Fault:
    return fault.model_copy(update={"checks": (*fault.checks, *readings)}) if readings else fault
