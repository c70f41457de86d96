"""What a component is and where it stands, in words."""

from __future__ import annotations

from rules.plant import Component, ComponentKind, Plant

__all__ = ["kind_of", "place_of"]

VALVES = {
    "motor_4wire": "Zone valve with a motor, four wires",
    "motor_3wire": "Zone valve with a motor, three wires",
    "motor_2wire": "Zone valve with a motor, two wires",
    "heat_motor": "Zone valve with a heat motor",
    "wax": "Zone valve with a wax actuator",
    "normally_open": "Zone valve, open without power",
}
THERMOSTATS = {"battery": "Thermostat on batteries", "powered": "Thermostat on 24 V"}
SOURCES = {
    "hot_water_boiler": "Hot-water boiler",
    "condensing_boiler": "Condensing boiler",
    "steam_boiler": "Steam boiler",
    "district_station": "District heating station",
}
REST = {
    ComponentKind.CIRCULATOR: "Circulator",
    ComponentKind.RELAY: "Switching relay",
    ComponentKind.TRANSFORMER: "24 V transformer",
    ComponentKind.LOOP: "Loop: its pipes, air and check valve",
    ComponentKind.RISER: "Riser: the upright pipe of one line and its valves",
    ComponentKind.CASCADE: "Boiler cascade: what its boilers share",
    ComponentKind.APARTMENT: "Apartment: its pipes, emitters and windows",
    ComponentKind.BUILDING: "Building",
}

# What a loop and its relay are where homes on it have pumps of their own.
SHARED_BY_OWN_PUMPS = {
    ComponentKind.LOOP: "Loop of homes with their own pumps: its pipes and air",
    ComponentKind.RELAY: "Relay panel of the homes' own pumps",
}
BOILER_ROOM = frozenset({ComponentKind.CIRCULATOR, ComponentKind.RELAY})


def kind_of(plant: Plant, component: Component) -> str:
    """What a component is."""
    if component.kind is ComponentKind.SOURCE:
        source = plant.source(component.id)
        return SOURCES.get(source.kind, "Heat source")
    if component.kind is ComponentKind.TRANSFORMER:
        va = plant.transformer(component.id).va
        return f"24 V transformer, {va:g} VA" if va else "24 V transformer"
    home = None if component.apartment is None else plant.apartment(component.apartment)
    if home is not None and component.kind is ComponentKind.VALVE:
        return VALVES.get(home.valve.kind if home.valve else "", "Valve")
    if home is not None and component.kind is ComponentKind.THERMOSTAT:
        return THERMOSTATS.get(home.thermostat.kind if home.thermostat else "", "Thermostat")
    if home is not None and component.kind in BOILER_ROOM:
        return f"{REST[component.kind]} of one home"
    if any(a.circulator for a in plant.apartments if a.loop == component.loop):
        return SHARED_BY_OWN_PUMPS.get(component.kind, REST[component.kind])
    return REST[component.kind]


def place_of(plant: Plant, component: Component) -> str:
    """Where a component stands."""
    if component.apartment is not None:
        home = plant.apartment(component.apartment)
        at = f"Apartment {home.id}, floor {home.floor}, line {home.line}, {home.loop}"
        return f"Boiler room, for {at[0].lower()}{at[1:]}" if component.kind in BOILER_ROOM else at
    riser = next((r for r in plant.risers if r.id == component.id), None)
    if riser is not None:
        return f"Line {riser.line}, homes {', '.join(riser.homes)}, {riser.loop}"
    if component.loop is not None:
        return f"Boiler room, {component.loop}"
    return "Boiler room" if component.kind is not ComponentKind.BUILDING else plant.name
