"""Whether the records of a building file hang together: ids, references, cycles, load.

Theory of operation
-------------------
Every id names one thing, whatever kinds of things there are, because tickets and findings name a
part by its id alone. Every reference has to end at a thing of the right kind. All of it is looked
at even when some of it is wrong, so that one reading of the file shows everything; but what
merely follows from a broken place (the homes that get no heat because of it) is told there, once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.plant.files.doors import note_alike
from rules.plant.files.fields import Record
from rules.plant.files.idle import note_idle
from rules.plant.files.problem import listed, nearest
from rules.plant.files.supply import Supply, feeding_key
from rules.plant.files.yaml_text import Written
from rules.plant.power import TransformerLoad, valve_load_va
from rules.plant.risers import riser_id
from rules.plant.vocabulary import relay_va

__all__ = ["check_references", "named"]

_HEATS = {"hot_water_boiler": "water", "condensing_boiler": "water"}
_SHOWN = 8  # names in one sentence; more are counted


def check_references(written: Written, building: Record) -> None:
    """Note everything that does not fit together in a completed building record."""
    kinds = _note_double_ids(written, building)
    _note_riser_names(written, building)
    _note_cascades(written, building, kinds)
    checks = _References(written, building, kinds)
    checks.note_unfed()
    checks.note_unknown()
    checks.note_cycles()
    for transformer in building["transformers"]:
        _note_load(written, building, transformer)
    note_idle(written, building)
    note_alike(written, building)


def _parts(owners: Iterable[Record], name: str) -> list[Record]:
    return [owner[name] for owner in owners if owner[name] is not None]


def _relays(building: Record) -> list[Record]:
    """Of loops and of homes."""
    return [*_parts(building["loops"], "relay"), *_parts(building["apartments"], "relay")]


def named(building: Record) -> Iterable[tuple[str, Record]]:
    """Every record with an id, and what it is, those highest in the plant first."""
    loops, homes = building["loops"], building["apartments"]
    for kind, records in (
        ("heat source", building["heat_sources"]),
        ("transformer", building["transformers"]),
        ("loop", loops),
        ("circulator", _parts(loops, "circulator")),
        ("relay", _parts(loops, "relay")),
        ("apartment", homes),
        ("valve", _parts(homes, "valve")),
        ("thermostat", _parts(homes, "thermostat")),
        ("circulator", _parts(homes, "circulator")),
        ("relay", _parts(homes, "relay")),
    ):
        for record in records:
            yield kind, record


def _note_double_ids(written: Written, building: Record) -> dict[str, str]:
    """Note ids that name two things; give back what each id names."""
    first: dict[str, tuple[str, str]] = {}
    if building["building"] is not None:
        first[building["building"]] = ("building", building.at("building"))
    for kind, record in named(building):
        name = record["id"]
        if name is None:
            continue
        if name not in first:
            first[name] = (kind, record.at("id"))
            continue
        other, pointer = first[name]
        line = written.problems.line_of(pointer)
        detail = f"The id '{name}' of {_a(kind)} already names the {other}"
        written.problems.add(
            record.at("id"),
            f"{detail} on line {line}." if line else f"{detail} at {pointer}.",
            "Give every part an id of its own; tickets name parts by it.",
        )
    return {name: kind for name, (kind, _) in first.items()}


def _note_riser_names(written: Written, building: Record) -> None:
    """Note parts that bear the name of a riser, which is made of a loop's and a line's."""
    risers = {riser_id(h["loop"], h["line"]): h for h in building["apartments"]}
    for kind, record in named(building):
        home = risers.get(record["id"])
        if home is not None:
            written.problems.add(
                record.at("id"),
                f"The id '{record['id']}' of {_a(kind)} is the name of the riser of line "
                f"{home['line']} on {home['loop']}.",
                "Give the part another id; tickets name parts by it.",
            )


def _note_cascades(written: Written, building: Record, kinds: dict[str, str]) -> None:
    """Note cascades that cannot be: of one boiler, of water and steam, with a part's name."""
    cascades: dict[str, list[Record]] = {}
    for source in building["heat_sources"]:
        if source["cascade"] is not None:
            cascades.setdefault(source["cascade"], []).append(source)
    for name, sources in cascades.items():
        at = sources[0].at("cascade")
        if name in kinds or name == building["building"]:
            written.problems.add(
                at,
                f"The cascade '{name}' has the id of the {kinds.get(name, 'building')}.",
                "Give the cascade an id of its own; tickets name what its boilers share by it.",
            )
        if len({_HEATS.get(s["kind"], s["kind"]) for s in sources}) > 1:
            written.problems.add(
                at,
                f"The heat sources of cascade '{name}' do not heat the same water.",
                "Put hot water boilers together, or steam boilers, or stations.",
            )
        fed = next((s for s in sources if s["fed_by"] is not None), None)
        if fed is not None:
            written.problems.add(
                fed.at("fed_by"),
                f"{fed['id']} is heated by a loop and cannot heat loops beside others in a cascade.",
                "Leave out 'fed_by' or 'cascade'.",
            )
        if len(sources) == 1:
            written.problems.add(
                at,
                f"The cascade '{name}' has one heat source only.",
                f"Write 'cascade: {name}' on the others too, or leave it out.",
                fatal=False,
            )


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


class _References:
    def __init__(self, written: Written, building: Record, kinds: dict[str, str]) -> None:
        self._written = written
        self._building = building
        self._kinds = kinds
        self._supply = Supply(building["loops"], building["heat_sources"])
        self._homes_on = self._supply.homes_on(building["apartments"])

    def note_unfed(self) -> None:
        """Loops that name no source."""
        for loop in self._building["loops"]:
            if loop["source"] is None and not loop.was_wrong("source"):
                self._written.problems.add(
                    loop.at("source"),
                    f"Loop {loop['id']} has no source{self._unreached([loop['id']])}.",
                    f"Add 'source:' with {self._choices('heat source')}.",
                )

    def note_unknown(self) -> None:
        """References to what is not there, or is something else."""
        building = self._building
        for source in building["heat_sources"]:
            self._note(source, "fed_by", "loop", self._unreached([source["id"]]))
        for loop in building["loops"]:
            self._note(loop, "source", "heat source", self._unreached([loop["id"]]))
        for home in building["apartments"]:
            after = f", so no heat source reaches apartment {home['id']}"
            self._note(home, "loop", "loop", after)
        for part in [*_relays(building), *_parts(building["apartments"], "valve")]:
            if "transformer" in part.given:  # a home's relay may have it from its panel
                self._note(part, "transformer", "transformer", "")

    def note_cycles(self) -> None:
        """Ways up that come back to where they were."""
        for cycle in self._supply.cycles():
            first = self._supply.records[cycle[0]]
            more = ["…"] if len(cycle) > _SHOWN else []
            way = " is fed by ".join([*cycle[:_SHOWN], *more, cycle[0]])
            self._written.problems.add(
                first.at(feeding_key(first)),
                f"The heat goes round in a cycle: {way}{self._unreached(cycle)}.",
                "Let one of them take its heat from a boiler or station that nothing feeds.",
            )

    def _note(self, record: Record, key: str, kind: str, after: str) -> None:
        name = record[key]
        other = self._kinds.get(name)
        if name is None or other == kind:
            return
        meant = nearest(name, self._of_kind(kind))
        detail = (
            f"'{name}' is {_a(other)}, not a {kind}" if other else f"There is no {kind} '{name}'"
        )
        self._written.problems.add(
            record.at(key),
            f"{detail}{after}.",
            f"Did you mean {meant}?" if meant else f"Name {self._choices(kind)}.",
        )

    def _of_kind(self, kind: str) -> list[str]:
        return [name for name, its_kind in self._kinds.items() if its_kind == kind]

    def _choices(self, kind: str) -> str:
        known = self._of_kind(kind)
        return listed(known[:_SHOWN]) if known else f"a {kind} (the file has none yet)"

    def _unreached(self, names: Sequence[str | None]) -> str:
        """The homes that get no heat because of a broken place, as the end of a sentence."""
        homes = list(dict.fromkeys(h for n in names if n for h in self._homes_on.get(n, ())))
        if not homes:
            return ""
        shown = ", ".join(homes[:_SHOWN])
        more = f" and {len(homes) - _SHOWN} more" if len(homes) > _SHOWN else ""
        return f", so no heat source reaches apartment {shown}{more}"


def _note_load(written: Written, building: Record, transformer: Record) -> None:
    name = transformer["id"]
    valves = [
        valve
        for valve in _parts(building["apartments"], "valve")
        if name and valve["transformer"] == name and valve["kind"]
    ]
    relays = [relay for relay in _relays(building) if relay["transformer"] == name]
    valves_va = sum(valve_load_va(valve["kind"], valve["va"]) for valve in valves)
    load = TransformerLoad(valves_va + relay_va() * len(relays), transformer["va"])
    if not load.is_past_margin:
        return
    detail = (
        f"{name} is rated {load.rated_va:g} VA; {len(valves)} valves and {len(relays)} relays ask "
        f"it for {load.load_va:g} VA when all call ({load.share:.0%})."
    )
    remedy = "Check the sizes; above 80 % an ageing valve can pull the voltage down."
    if load.is_past_rating:
        remedy = "Check the sizes; if they are right, a larger or a second transformer is due."
    written.problems.add(transformer.at("va"), detail, remedy, fatal=False)
