"""The shape of the catalogue's rows: what a fault, a check and a part say, and what they may not."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from rules.model import CheckId, FaultId, Kind, Noise, PartId

__all__ = [
    "At",
    "Change",
    "Check",
    "CheckReading",
    "Fault",
    "Felt",
    "OnRisers",
    "Part",
    "Repair",
    "Reports",
    "Unit",
    "Wear",
    "Where",
]

At = Literal[
    "valve",
    "thermostat",
    "apartment",
    "circulator",
    "relay",
    "loop",
    "riser",
    "transformer",
    "source",
    "building",
]
Unit = Literal["V", "A", "ohm", "F", "psi", "uA", "mV", "ppm", "s", "in_wc", "uF", "percent"]
# What must be there for a reading to mean something: a burner that lights when it is called, and
# hot water for the taps.
Need = Literal["fire", "hot_water"]
Fraction = float


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Wear(_Row):
    """Ageing as a Weibull law: shape k and median life in years."""

    shape: float = Field(gt=0, le=10)
    median_years: float = Field(gt=0, le=100)


class Where(_Row):
    """Where the fault can occur; empty means anywhere. Values are those of the building file."""

    zoning: tuple[str, ...] = ()
    valve: tuple[str, ...] = ()
    thermostat: tuple[str, ...] = ()
    emitter: tuple[str, ...] = ()
    source: tuple[str, ...] = ()
    control: tuple[str, ...] = ()
    hot_water: tuple[str, ...] = ()
    has_transformer: bool | None = None  # a 24 V transformer feeds the home's valve or loop relay


class Change(_Row):
    """What the fault changes; everything left out stays healthy.

    Fractions are of the healthy flow or output (0 none, 1 full); ``*_f`` are degrees Fahrenheit.
    """

    # the apartment's part of the chain
    call: Literal["always", "never"] | None = None
    offset_f: float = (
        0.0  # the home settles at set + offset (a thermostat that reads low: positive)
    )
    reads_off_f: float = 0.0  # what the thermostat shows minus the true room temperature
    motor: Literal["dead"] | None = None
    valve: Literal["open", "shut"] | None = None
    leak: Fraction = Field(default=0.0, ge=0, le=1)  # flow past a shut valve while the pump runs
    end_switch: Literal["open", "closed", "erratic"] | None = None
    path: Fraction = Field(default=1.0, ge=0, le=1)  # flow through the apartment's own pipes
    emitter: Fraction = Field(default=1.0, ge=0, le=1)  # output of the emitters at a given flow
    loss: float = Field(default=1.0, ge=0.5, le=5)  # heat loss against normal
    gain_f: float = 0.0  # free heat, as the rise of the home's equilibrium temperature
    # the loop's part
    relay: Literal["dead", "welded"] | None = None
    pump_contact: Literal["open"] | None = None
    isolated_contact: Literal["open"] | None = None
    flow: Fraction = Field(default=1.0, ge=0, le=1)
    check_leak: Fraction = Field(default=0.0, ge=0, le=1)  # flow while the loop's pump stands
    # power and source
    power: Literal["none", "overloaded"] | None = None
    capacity: Fraction = Field(default=1.0, ge=0, le=1)  # of the heat source, at any weather
    # Share of its output that is gone: felt only where the weather needs more than what is left.
    output_lost: Fraction = Field(default=0.0, ge=0, le=1)
    water_shift_f: float = 0.0  # supply water against where it should be
    demand: Literal["open", "shorted"] | None = None
    hot_water: Literal["none", "lukewarm", "too_hot"] | None = None


class Reports(_Row):
    """Chance that a household speaks of this fault, by kind, beside what temperature makes it say."""

    too_cold: float = Field(default=0.0, ge=0, le=1)  # felt although the temperature is right
    too_hot: float = Field(default=0.0, ge=0, le=1)
    noise: dict[Noise, float] = Field(default_factory=dict)
    leak: float = Field(default=0.0, ge=0, le=1)
    no_hot_water: float = Field(default=0.0, ge=0, le=1)
    gas_smell: float = Field(default=0.0, ge=0, le=1)
    co_alarm: float = Field(default=0.0, ge=0, le=1)
    smoke: float = Field(default=0.0, ge=0, le=1)
    electrical: float = Field(default=0.0, ge=0, le=1)
    other: float = Field(default=0.0, ge=0, le=1)
    heard_by: Literal["apartment", "loop", "building"] = "apartment"


class Felt(_Row):
    """Local hours in which its warmth is there, the stored one included, and what is told of it then.

    What comes at other hours is told later, or was stored in the walls.
    """

    from_hour: int = Field(ge=0, le=23)
    to_hour: int = Field(ge=1, le=24)
    share: float = Field(gt=0, lt=1)


class CheckReading(_Row):
    """What a check shows: a range with its unit, or a word."""

    check: CheckId
    reads: tuple[float, float] | None = None
    unit: Unit | None = None
    calling: bool | None = None  # the reading holds with (True) or without (False) a call, or both
    outcome: str | None = None
    at_own: bool = (
        False  # shown by the faulty component itself, not by the check's usual part near it
    )
    lacking: bool = False  # shown because what the check needs is not there (``needs.py``)

    @model_validator(mode="after")
    def _range_or_word(self) -> CheckReading:
        if (self.reads is None) == (self.outcome is None):
            raise ValueError(f"{self.check}: give either reads or an outcome")
        if (self.reads is None) != (self.unit is None):
            raise ValueError(f"{self.check}: a range needs a unit and a word needs none")
        if self.reads is not None and self.reads[0] > self.reads[1]:
            raise ValueError(f"{self.check}: range {self.reads} is the wrong way round")
        return self


class Repair(_Row):
    """What is done about it and how long it takes (shortest, longest)."""

    do: str
    minutes: tuple[float, float]


class OnRisers(_Row):
    """The same trouble in one riser of a loop instead of all of it: what is different there.

    ``share`` of the stated rate falls on the risers of a loop that has them, all together.
    """

    says: str
    share: float = Field(gt=0, le=1)
    change: Change | None = None  # None: the same
    checks: tuple[CheckReading, ...]


class Fault(_Row):
    """One thing that can be wrong with one class of component."""

    id: FaultId
    says: str  # plain name for people, no full stop
    # The id under which programs outside know it, where the trade's list of faults has one name for
    # this row and another: a worse degree of it, or the same in one home (``telling.py``).
    told_as: FaultId | None = None
    at: At
    also_at: tuple[At, ...] = ()  # where it may be named as well by whoever finds it
    rate_per_100_years: float | None = Field(default=None, gt=0)
    # What the rate is where it is another for some kind of heat source.
    rate_of_source: dict[str, float] = Field(default_factory=dict)
    prevalence_percent: float | None = Field(default=None, gt=0, le=100)
    wear: Wear | None = None
    season_start_factor: float = Field(default=1.0, ge=1)
    where: Where = Where()
    change: Change = Change()
    tells: dict[str, dict[str, float]] = Field(default_factory=dict)
    reports: Reports = Reports()
    felt: Felt | None = None  # of what makes a home too hot; None: at any hour alike
    checks: tuple[CheckReading, ...] = ()
    repair: Repair
    parts: tuple[PartId, ...] = ()
    temporary: str = ""
    caution: str = ""
    on_risers: OnRisers | None = None
    # Outdoor temperatures (F, lowest and highest) in which it is there at all; the rate is that of such
    # weather.
    outdoor_f: tuple[float, float] | None = None
    # Complaints that are about what the thermostat is set to, or kept at: the home gets that.
    by_setting: tuple[Literal[Kind.TOO_COLD, Kind.TOO_HOT], ...] = ()
    by_load: bool = False  # of transformers: how often goes by what hangs on them
    # Of buildings: what each home adds to the rate, where the fault may sit at what every home has.
    rate_per_home: float = Field(default=0.0, ge=0)
    top_floors: bool = False  # of heat sources: felt on the highest floor alone
    far_end: bool = False  # of loops: its flow is what the far end gets, the near end has more
    beside_pump: bool = False  # of loops: sits at the pump, also where that is one home's own
    # Of relays: of what the relays of homes in one panel have in common. The rate is spread over all
    # loops, of which this share is taken to have a panel; where homes have own pumps there is one.
    of_panel: float | None = Field(default=None, gt=0, le=1)
    # of heat sources: of what a cascade's boilers have in common, not of one of them
    shared_in_cascade: bool = False

    @model_validator(mode="after")
    def _one_frequency(self) -> Fault:
        if (self.rate_per_100_years is None) == (self.prevalence_percent is None):
            raise ValueError(f"{self.id}: give either a rate or a prevalence")
        if self.rate_of_source and (self.at != "source" or self.rate_per_100_years is None):
            raise ValueError(
                f"{self.id}: only what happens to heat sources has rates of their kinds"
            )
        if self.rate_per_home and (self.at != "building" or self.rate_per_100_years is None):
            raise ValueError(
                f"{self.id}: only the rate of a building's faults grows with its homes"
            )
        if self.on_risers is not None and self.at != "loop":
            raise ValueError(f"{self.id}: only what is at a loop can be on its risers")
        for topic, answers in self.tells.items():
            if sum(answers.values()) > 1 + 1e-9:
                raise ValueError(f"{self.id}: answers to {topic} add up to more than 1")
        return self


class Check(_Row):
    """A measurement by the technician, with its healthy reading in figures or words."""

    id: CheckId
    short: str = ""  # how it is called beside a reading, where the id with spaces would not do
    do: str
    at: At
    on_risers: str = ""  # what is done at a riser that is suspected; empty: it is not made there
    place: Literal["apartment", "boiler_room", "outside"]
    healthy_text: str
    healthy: tuple[CheckReading, ...] = ()
    outcomes: tuple[str, ...] = ()  # for checks answered in words, the healthy one first
    mistaken: float | None = Field(
        default=None, gt=0, lt=0.1
    )  # share of words that are noted wrongly, where that is less than of other checks
    slip: float | None = Field(
        default=None, gt=0, lt=0.02
    )  # share of figures that are far off, where that is less than of other checks
    # The state of the call that is meant where none is noted; None: it may be either.
    untold_call: bool | None = None
    usual: Unit | None = None  # the unit that most readings come in, where it is not the first
    range: tuple[float, float] | None = None  # what the instrument can show, in its usual unit
    ranges: dict[Unit, tuple[float, float]] = Field(default_factory=dict)  # and in another
    difference: bool = False  # of two temperatures: no zero point, 10 C are 18 F
    slack: float | None = Field(
        default=None, gt=0
    )  # beside its ranges, where finer than its unit's
    sources: tuple[str, ...] = ()  # kinds of heat source where it can be made; none: any
    also_at: tuple[At, ...] = ()  # kinds of component beside ``at`` that a reading may be noted at
    about: tuple[Kind, ...] = ()  # made only where one of these is complained of; none: anywhere
    listed: bool = True  # in the trade's list of tests: programs outside are told of no other
    needs: Need | None = None  # without it there is nothing to read
    without: tuple[CheckReading, ...] = ()  # what is seen then: a word, a figure, or either
    after: tuple[CheckId, ...] = ()  # quicker looks at the same part that may make it needless
    minutes: float = Field(gt=0)
    tools: tuple[str, ...] = ()
    before: str = ""
    caution: str = ""

    @model_validator(mode="after")
    def _says_what_is_seen_without(self) -> Check:
        if (self.needs is None) == bool(self.without):
            raise ValueError(f"{self.id}: what it needs and what is seen without it go together")
        return self

    @property
    def nothing(self) -> str | None:
        """The word for "there was nothing to measure" of a check that is read in figures."""
        if self.outcomes:
            return None
        return next((r.outcome for r in self.without if r.outcome is not None), None)

    def range_in(self, unit: str | None) -> tuple[float, float] | None:
        """What its instrument can show in a unit."""
        return next((r for name, r in self.ranges.items() if name == unit), self.range)


class Part(_Row):
    """Something to put on the truck."""

    id: PartId
    says: str
    cost: float = Field(gt=0)  # rough price in dollars: common practice, no source
    room: float = Field(gt=0)  # share of a van's shelf, 1 = a shoe box
    always_on_truck: bool = False
    renews: At | None = None  # the component whose age starts again when it is fitted
