"""What a building file may leave out, filled in before anything is compared with anything."""

from __future__ import annotations

from rules.plant.files.fields import Record
from rules.plant.files.own_pumps import complete_pumps
from rules.plant.files.yaml_text import Written
from rules.plant.vocabulary import default_design_outdoor_f, time_constants_hours

__all__ = ["complete"]


def complete(written: Written, building: Record) -> None:
    """Fill in ids of parts, the time constant, and parts whose presence follows from the zoning."""
    _fill_physics(written, building)
    complete_pumps(written, building)
    for loop in building["loops"]:
        for name in ("circulator", "relay"):
            _name_part(loop, name)
    only = building["transformers"][0]["id"] if len(building["transformers"]) == 1 else None
    for home in building["apartments"]:
        _complete_home(written, home, only)


def _fill_physics(written: Written, building: Record) -> None:
    values = building.values
    if values["design_outdoor_f"] is None:
        values["design_outdoor_f"] = default_design_outdoor_f()
    if values["time_constant_hours"] is not None or building.was_wrong("time_constant_hours"):
        return
    values["time_constant_hours"] = time_constants_hours().get(values["construction"])
    if values["construction"] == "custom":
        written.problems.add(
            building.at("time_constant_hours"),
            "A custom construction has no usual time constant.",
            "Give time_constant_hours: the hours in which the unheated building loses about 63 % "
            "of its lead over outdoors.",
        )


def _complete_home(written: Written, home: Record, only_transformer: str | None) -> None:
    valve_wrong, stat_wrong = home.was_wrong("valve"), home.was_wrong("thermostat")
    if home["zoning"] == "zone_valve" and home["valve"] is None and not valve_wrong:
        home.values["valve"] = home.part(
            "valve",
            id=None,
            kind="motor_4wire",
            transformer=only_transformer,
            va=None,
            installed=None,
        )
        _warn_of_guess(written, home, "valve", "a four-wire motor valve")
    calls = home["zoning"] in {"zone_valve", "zone_circulator"}
    if calls and home["thermostat"] is None and not stat_wrong:
        home.values["thermostat"] = home.part("thermostat", id=None, kind="battery", installed=None)
        _warn_of_guess(written, home, "thermostat", "one on batteries")
    if home["valve"] is not None and home["zoning"] not in {"zone_valve", None}:
        written.problems.add(
            home.at("valve"),
            f"A zone valve does not go with zoning {home['zoning']}.",
            "Write 'zoning: zone_valve', or leave the valve out.",
        )
    for name in ("valve", "thermostat", "circulator", "relay"):
        _name_part(home, name)


def _warn_of_guess(written: Written, home: Record, name: str, taken: str) -> None:
    written.problems.add(
        home.at(name),
        f"The {name} of apartment {home['id']} is not described; it is taken to be {taken}.",
        f"Add '{name}:' with its kind.",
        fatal=False,
    )


def _name_part(owner: Record, name: str) -> None:
    """A part without an id is called after what it belongs to."""
    part = owner[name]
    if part is not None and part["id"] is None and owner["id"] is not None:
        part.values["id"] = f"{owner['id']}.{name}"
