"""What a building file leaves without use or without a start: mostly a reference that was forgotten.

Such a file hangs together and is taken; but a transformer that nothing names is no suspect for anybody,
and a pump that nothing starts is none for its contact or its coil.
"""

from __future__ import annotations

from collections import Counter

from rules.plant.files.fields import Record
from rules.plant.files.yaml_text import Written

__all__ = ["note_idle"]

# Homes of these kinds call for heat, and something has to start the pump for them; a pump before
# thermostatic radiator valves, or before none, runs through.
_CALLS = frozenset({"zone_valve", "zone_circulator"})


def note_idle(written: Written, building: Record) -> None:
    """Warn of transformers and loops that nothing names, and of loops that need a relay."""
    homes, loops = building["apartments"], building["loops"]
    parts = [home["valve"] for home in homes]
    parts += [owner["relay"] for owner in (*loops, *homes)]
    named = {part["transformer"] for part in parts if part is not None}
    for transformer in building["transformers"]:
        if transformer["id"] is not None and transformer["id"] not in named:
            _note_unused(written, transformer)
    steam = {s["id"] for s in building["heat_sources"] if s["kind"] == "steam_boiler"}
    calling = Counter(
        home["loop"] for home in homes if home["zoning"] in _CALLS and home["relay"] is None
    )
    heated = {home["loop"] for home in homes}
    # A home without a loop of this file is told first: it may be on this one.
    all_placed = heated <= {loop["id"] for loop in loops} - {None}
    for loop in loops:
        if all_placed and loop["id"] not in heated | {None}:
            _note_without_homes(written, loop)
        started = loop["relay"] is not None or loop.was_wrong("relay")
        if loop["id"] is not None and not started and loop["source"] not in steam:
            _note_without_relay(written, loop, calling[loop["id"]])


def _note_unused(written: Written, transformer: Record) -> None:
    name = transformer["id"]
    written.problems.add(
        transformer.at("id"),
        f"No valve and no relay names transformer {name}.",
        f"Add 'transformer: {name}' to what it powers; else no home is thought to depend on it.",
        fatal=False,
    )


def _note_without_homes(written: Written, loop: Record) -> None:
    name = loop["id"]
    written.problems.add(
        loop.at("id"),
        f"No apartment is on loop {name}.",
        f"Add 'loop: {name}' to the apartments it heats; else nothing on it is ever suspected.",
        fatal=False,
    )


def _note_without_relay(written: Written, loop: Record, calling: int) -> None:
    if not calling:
        return
    who = "a home on it calls" if calling == 1 else f"{calling} homes on it call"
    written.problems.add(
        loop.at("relay"),
        f"Loop {loop['id']} has no relay, though {who} for heat.",
        "Add 'relay:' with the transformer of its coil; else nothing is said to start the pump.",
        fatal=False,
    )
