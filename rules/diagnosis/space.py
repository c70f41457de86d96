"""A building at a weather: its states, and the classes of its homes with their physics."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

import numpy as np

from rules.diagnosis.beside import cooled_f, rows_beside
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.kinds import HomeClass, Sight, home_class
from rules.diagnosis.listing import Listing
from rules.diagnosis.memo import Memo
from rules.diagnosis.physics import Courses, Emitting, Physics, alike
from rules.diagnosis.states import States, carried, kind_of, states_of
from rules.diagnosis.tanks import has_tank
from rules.faults.candidates import Candidate
from rules.faults.lives import NOTHING_LEARNED, LearnedLives
from rules.heat.columns import HEALTHY, Rows
from rules.heat.company import Spell, spells_at
from rules.heat.control import ChainKind, Supply
from rules.heat.rooms import ROOM_F, Climate, comfort_f, supply_at
from rules.model import ApartmentId, ComponentId
from rules.plant import Apartment, Plant

__all__ = ["HomeClass", "Ordinary", "Space", "make_space"]

# A space with its classes and homes is some tens of megabytes, of a large house a hundred and more.
_MOST_SPACES = 4
_MOST_BYTES = 192 * 2**20
_MOST_SPOKEN = 64
# Of one home: by itself, with the trouble before, with the last two, with all; the same newest facts.
_MOST_TABLES = 4
# As it is, and as it was before the last home wrote.
_MOST_LISTINGS = 2
_MOST_COURSES = 2
_MOST_WEIGHED = 256


@dataclass(frozen=True, eq=False, slots=True)
class Ordinary:
    """Homes that are equal in all until one of them says something."""

    kind: HomeClass
    log_prior: Floats  # (own states,)


@dataclass(frozen=True, eq=False)
class Space:
    """The states of a plant at a weather, with the classes of its homes."""

    states: States
    climate: Climate
    _classes: dict[Hashable, HomeClass] = field(default_factory=dict)
    _named: dict[tuple[ApartmentId, float, bool], HomeClass] = field(default_factory=dict)
    weighed: Memo = field(
        default_factory=lambda: Memo(_MOST_WEIGHED)
    )  # of troubles, a few numbers each
    _courses: Memo = field(default_factory=lambda: Memo(_MOST_COURSES))
    _listings: Memo = field(default_factory=lambda: Memo(_MOST_LISTINGS))

    @property
    def plant(self) -> Plant:
        """The building."""
        return self.states.plant

    @property
    def shared(self) -> tuple[Candidate, ...]:
        """The shared faults."""
        return self.states.shared

    @property
    def members(self) -> Indices:
        """Candidates of each shared state, (states, 2), -1 for none."""
        return self.states.members

    @property
    def log_prior(self) -> Floats:
        """Log P(shared state), (states,)."""
        return self.states.log_prior

    def local(self, apartment: ApartmentId) -> tuple[Candidate, ...]:
        """A home's own faults, in the order of its own states from 1."""
        return self.states.local(apartment)

    def local_log_prior(self, apartment: ApartmentId) -> Floats:
        """Log P(own state) of one home."""
        return self.states.local_log_prior(apartment)

    @cached_property
    def _said(self) -> Memo:
        return Memo(_MOST_SPOKEN)

    def said(self, apartment: ApartmentId) -> Memo:
        """All that one home said, with its tables of some megabytes, for each trouble it may be of."""
        return self._said.once(apartment, lambda: Memo(_MOST_TABLES))

    def let_go(self) -> None:
        """Forget what holds on to this space and its classes, so that they go at once.

        Whoever still has the space may go on with it.
        """
        self._said.clear()
        for kind in [*self._classes.values()]:
            kind.let_go()

    @cached_property
    def ordinary(self) -> Mapping[ApartmentId, Ordinary]:
        """Every home of the plant, in order; equal homes have the same one."""
        known: dict[tuple[int, int], Ordinary] = {}
        found: dict[ApartmentId, Ordinary] = {}
        for apartment in sorted(a.id for a in self.plant.apartments):
            kind, prior = self.home_class(apartment), self.local_log_prior(apartment)
            found[apartment] = known.setdefault((id(kind), id(prior)), Ordinary(kind, prior))
        return found

    @cached_property
    def heads(self) -> Mapping[ApartmentId, ComponentId]:
        """The boiler or cascade that heats each home."""
        plant = self.plant
        return {home.id: plant.head_of(home.loop) for home in plant.apartments}

    @cached_property
    def tanked(self) -> frozenset[ComponentId]:
        """Those of them that heat a tank of hot water."""
        homes = self.ordinary.items()
        return frozenset(self.heads[home] for home, ordinary in homes if has_tank(ordinary.kind))

    @cached_property
    def cooled_f(self) -> Floats:
        """How far below room temperature each candidate lets its homes fall."""
        homes = self.plant.apartments
        spells = {a.id: _spells_of(self, a) for a in homes}
        supply = {a.id: _supply_to(self.plant, a, self.climate) for a in homes}
        return cooled_f(self.plant, self.climate, self.shared, spells, supply)

    def home_class(
        self, apartment: ApartmentId, set_f: float | None = None, *, beside: bool = False
    ) -> HomeClass:
        """The class of one home at its set point (rounded to 2 F; 70 F when not known).

        Warm weather lifts it: nobody calls for a technician because July is hot.
        ``beside``: faults that starve its neighbours count as well.
        """
        at = ROOM_F if set_f is None else 2.0 * round(min(max(set_f, 50.0), 90.0) / 2)
        at = comfort_f(self.climate, at)
        name = (apartment, at, beside)
        if name not in self._named:
            near: Mapping[int, Rows] = {}
            if beside:
                near = rows_beside(self.plant, self.shared, self.cooled_f, apartment)
            self._named[name] = self._class_of(apartment, at, near)
        return self._named[name]

    def _class_of(
        self, apartment: ApartmentId, set_f: float, near: Mapping[int, Rows]
    ) -> HomeClass:
        home = self.plant.apartment(apartment)
        key = (*kind_of(self.plant, home), set_f, frozenset(near))
        if key not in self._classes:
            self._classes[key] = _make_class(self, home, set_f, near)
        return self._classes[key]

    def listing(
        self,
        kinds: frozenset[HomeClass],
        spoken: frozenset[HomeClass],
        speaking: frozenset[tuple[int, ...]],
    ) -> Listing:
        """The states to list for homes of these classes, those that said something, and checks.

        ``speaking`` are the candidates that speak for each check.
        """
        return self._listings.once(
            (kinds, spoken, speaking), lambda: Listing.of(self.states, kinds, spoken, speaking)
        )

    def courses(self, physics: tuple[Physics, ...]) -> tuple[Courses, Mapping[Physics, Indices]]:
        """The courses of temperature of several physics, and which ones each has."""

        def make() -> tuple[Courses, Mapping[Physics, Indices]]:
            courses, of_pattern = Courses.of([p.course for p in physics])
            return courses, dict(zip(physics, of_pattern, strict=True))

        return self._courses.once(physics, make)


_SPACES = Memo(_MOST_SPACES, _MOST_BYTES, gone=Space.let_go)


def make_space(
    plant: Plant, on: date, outdoor_f: float, lives: LearnedLives = NOTHING_LEARNED
) -> Space:
    """The states of a plant on a day at an outdoor temperature."""

    def make() -> Space:
        climate = Climate(outdoor_f, plant.design_outdoor_f, plant.time_constant_hours)
        return Space(states_of(plant, on, lives), climate)

    return _SPACES.once((plant, on, outdoor_f, lives), make)


def _make_class(space: Space, home: Apartment, set_f: float, near: Mapping[int, Rows]) -> HomeClass:
    heated = Emitting(
        chain=ChainKind(home.zoning, home.valve.kind if home.valve else None),
        spells=_spells_of(space, home),
        supply=_supply_to(space.plant, home, space.climate),
        climate=space.climate,
        set_f=set_f,
    )
    powered = home.thermostat is not None and home.thermostat.kind == "powered"
    return home_class(
        _sight(space, home, near),
        heated,
        tuple(_in_weather(c, space.climate.outdoor_f) for c in space.local(home.id)),
        powered_thermostat=powered,
    )


def _in_weather(candidate: Candidate, outdoor_f: float) -> Candidate:
    """The same, without effect where such weather does not let it be there."""
    return candidate if candidate.is_there_at(outdoor_f) else replace(candidate, chain=HEALTHY)


def _sight(space: Space, home: Apartment, near: Mapping[int, Rows]) -> Sight:
    """What a home sees of the candidates, ``near`` ones beside it included."""
    reaching = [n for n, c in enumerate(space.shared) if home.id in c.homes or n in near]
    chains = space.states.chains.copy()
    for n in reaching:
        if home.id in space.shared[n].by_home:
            chains[n] = carried(space.shared[n], home.id)
        if not space.shared[n].is_there_at(space.climate.outdoor_f):
            chains[n] = HEALTHY
    for n, row in near.items():
        chains[n] = row
    fed = space.states.heads[space.plant.head_of(home.loop)]
    # How those near it pull on this home stands in its row.
    along = [[n not in near and a in c.homes for a in fed] for n, c in enumerate(space.shared)]
    sets = np.array([*along, [False] * len(fed)], dtype=np.float64)
    first, homes_of = alike(sets)
    distinct = sets[first]
    either = np.maximum(distinct[:, None], distinct[None, :]).sum(axis=2)
    return Sight(
        members=space.members,
        carried=chains,
        reaching=reaching,
        homes_of=homes_of,
        share_of=either / len(fed),
    )


def _supply_to(plant: Plant, home: Apartment, climate: Climate) -> Supply:
    """The heat that comes from the home's source at this weather."""
    source = plant.source(plant.loop(home.loop).source)
    controlled = home.zoning != "none"
    # Where no room has a control, somebody sets the water by the weather, or the hours it runs.
    regulated = source.control == "outdoor_reset" or source.kind == "steam_boiler" or not controlled
    return supply_at(climate, follows_weather=regulated, rooms_controlled=controlled)


def _spells_of(space: Space, home: Apartment) -> tuple[Spell, ...]:
    """How often others run the pump of this home's loop, and the boiler, at the hours of a day."""
    plant = space.plant
    on_loop = sum(1 for a in plant.apartments if a.loop == home.loop)
    elsewhere = len(space.states.heads[plant.head_of(home.loop)]) - on_loop
    return spells_at(space.climate, on_loop - 1, elsewhere, plant.circuit_of(home))
