"""Whose pump is whose: the loop's, or each home's own.

Theory of operation
-------------------
Homes that are zoned by circulators have each a small pump, with its check valve and a relay of a
switching panel. A loop with one such home on it is that zone: its circulator and relay are the home's.
Where such a home shares its loop with others, or its file names a circulator for it, the pump is the
home's own (``2B.circulator``), and so is the relay that starts it, if the loop has one: the loop's relay
is then the panel, whose transformer and age the relays in it share unless they say otherwise. The loop
itself is a header and has a pump of its own only where its file writes one, or where a home on it has
none (common practice, no source).
"""

from __future__ import annotations

from collections import Counter

from rules.plant.files.fields import Record
from rules.plant.files.yaml_text import Written

__all__ = ["complete_pumps"]

_OWN = "zone_circulator"


def complete_pumps(written: Written, building: Record) -> None:
    """Fill in pumps and relays that follow from the zoning; note those that do not go with it."""
    homes = building["apartments"]
    sharing = Counter(home["loop"] for home in homes)
    by_id = {loop["id"]: loop for loop in building["loops"]}
    for home in homes:
        if home["zoning"] == _OWN:
            _complete_home(home, by_id.get(home["loop"]), alone=sharing[home["loop"]] == 1)
        elif home["zoning"] is not None:
            _note_misplaced(written, home)
    for loop in building["loops"]:
        own = [home["circulator"] is not None for home in homes if home["loop"] == loop["id"]]
        _complete_loop(written, loop, own)


def _complete_home(home: Record, loop: Record | None, *, alone: bool) -> None:
    if home.was_wrong("circulator") or loop is None:
        return
    if home["circulator"] is None:
        if alone:
            return
        home.values["circulator"] = home.part("circulator", id=None, installed=None)
    panel = loop["relay"]
    if panel is None or home.was_wrong("relay"):
        return
    if home["relay"] is None:
        home.values["relay"] = home.part("relay", id=None, transformer=None, installed=None)
    for key in ("transformer", "installed"):
        if home["relay"][key] is None and not home["relay"].was_wrong(key):
            home["relay"].values[key] = panel[key]


def _note_misplaced(written: Written, home: Record) -> None:
    for name in ("circulator", "relay"):
        if home[name] is not None:
            written.problems.add(
                home.at(name),
                f"A {name} of its own does not go with zoning {home['zoning']}.",
                f"Write 'zoning: {_OWN}', or write the {name} at the loop.",
            )


def _complete_loop(written: Written, loop: Record, own: list[bool]) -> None:
    """``own``: of each home on it, whether it has a pump."""
    if loop.was_wrong("circulator"):
        return
    if loop["circulator"] is None:
        if not own or not all(own):
            loop.values["circulator"] = loop.part("circulator", id=None, installed=None)
    elif own and all(own):
        written.problems.add(
            loop.at("circulator"),
            f"Loop {loop['id']} names a circulator, though every home on it has a pump of its own; "
            "it is taken to be one more pump, before theirs.",
            "Leave it out if there is none.",
            fatal=False,
        )
