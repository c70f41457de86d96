"""The plant of a building: what feeds what, and the files that say so.

Theory of operation
-------------------
A plant is read from a building file, or refused with everything that is wrong with it. It answers
one question in five ways: who depends on this component? *Water* runs source, loop, circulator, riser,
valve, home. *Power* runs from a transformer to valves, relays and thermostats that are not on
batteries. *Demand* runs from a home's thermostat through its valve's end switch to the loop's
relay, the pump and the source. *Pressure* is one body of water, felt everywhere in it.
*Neighbours* share a floor, a ceiling or a wall. ``rules.plant.graphs`` says how each is read from
the file.

``Plant.downstream`` gives what a component feeds; what a thermostat feeds in the demand graph is
what its call reaches. ``Plant.apartments_downstream`` gives the homes that lose something when
the component fails.
"""

from __future__ import annotations

from rules.plant.building import Plant, UnknownComponent
from rules.plant.cascades import Cascade
from rules.plant.components import (
    Apartment,
    Circulator,
    Component,
    HeatSource,
    Loop,
    Relay,
    Thermostat,
    Transformer,
    Valve,
)
from rules.plant.files.building_file import read_building_document, read_building_yaml
from rules.plant.files.households import HouseholdRow, read_household_rows, read_households_csv
from rules.plant.files.problem import Problem
from rules.plant.power import (
    Circuit,
    TransformerLoad,
    transformer_load,
)
from rules.plant.renewal import renewed
from rules.plant.risers import Riser
from rules.plant.runs import Run
from rules.plant.vocabulary import ComponentKind, Graph, stroke_seconds

__all__ = [
    "Apartment",
    "Cascade",
    "Circuit",
    "Circulator",
    "Component",
    "ComponentKind",
    "Graph",
    "HeatSource",
    "HouseholdRow",
    "Loop",
    "Plant",
    "Problem",
    "Relay",
    "Riser",
    "Run",
    "Thermostat",
    "Transformer",
    "TransformerLoad",
    "UnknownComponent",
    "Valve",
    "read_building_document",
    "read_building_yaml",
    "read_household_rows",
    "read_households_csv",
    "renewed",
    "stroke_seconds",
    "transformer_load",
]
