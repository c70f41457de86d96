"""The load of a day against every load that there is, and by hand."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable

import pytest

from rules.faults.catalogue import faults, parts
from rules.model import FaultId, PartId
from rules.parts import USE_SHARE, Cause
from rules.parts.day import DayTicket, Truck, day_load
from rules.parts.first_visit import day_ticket, first_visit, first_visits, missing, uses

CIRCULATOR, FUSE = PartId("circulator"), PartId("fuse")


def seized(ticket: str, chance: float) -> DayTicket:
    """A ticket whose only suspect is a seized pump."""
    return DayTicket(ticket, (Cause(FaultId("pump_seized"), chance),))


def by_enumeration(tickets: list[DayTicket], load: dict[PartId, int]) -> float:
    """Expected first-visit repairs by going through every fault and every use of every part."""
    total = 0.0
    faults_of = [
        [*((s.fault, s.chance) for s in t.suspects), (None, 1 - sum(s.chance for s in t.suspects))]
        for t in tickets
    ]
    for chosen in itertools.product(*faults_of):
        needs = [
            []
            if f is None
            else [(p, USE_SHARE[min(n, 2)]) for n, p in enumerate(faults()[f].parts)]
            for f, _ in chosen
        ]
        flat = [(t, p, share) for t, need in enumerate(needs) for p, share in need]
        for used in itertools.product((False, True), repeat=len(flat)):
            chance = 1.0
            for _, c in chosen:
                chance *= c
            for use, (_, _, share) in zip(used, flat, strict=True):
                chance *= share if use else 1 - share
            left = dict(load)
            missing = {t for t, (f, _) in enumerate(chosen) if f is None}
            for use, (t, p, _) in zip(used, flat, strict=True):
                if use:
                    if left.get(p, 0) < 1:
                        missing.add(t)
                    left[p] = left.get(p, 0) - 1
            total += chance * (len(tickets) - len(missing))
    return total


def test_one_pump_for_two_pumps():
    """The second stop finds the pump only if the first has left it: worked by hand."""
    first, *rest = faults()[FaultId("pump_seized")].parts
    assert first == CIRCULATOR
    plenty = dict.fromkeys(rest, 9)

    # P(first stop uses the pump) = 0.5 * 0.8; it always finds it. The second misses it in 0.8 of 0.4.
    chances = first_visits([seized("a", 0.5), seized("b", 1.0)], {CIRCULATOR: 1, **plenty})

    assert chances == pytest.approx([0.5, 1 - 0.8 * 0.4])


@pytest.mark.parametrize("seed", range(6))
def test_chances_equal_going_through_everything(seed):
    """Two or three tickets, a few suspects: the sum equals an enumeration of every course of the day.

    Where no suspect of a ticket names a part twice and parts go first come first served.
    """
    rnd = random.Random(seed)  # noqa: S311 - made-up days
    # One part a fault: with several, who uses what in one ticket is not independent of the day.
    single = [f for f, row in faults().items() if len(row.parts) == 1]
    tickets = [
        DayTicket(f"t{n}", tuple(Cause(f, rnd.uniform(0.1, 0.4)) for f in rnd.sample(single, 2)))
        for n in range(3)
    ]
    wanted = {p for t in tickets for s in t.suspects for p in faults()[s.fault].parts}
    load = {p: rnd.choice([0, 1, 2]) for p in sorted(wanted)}

    assert sum(first_visits(tickets, load)) == pytest.approx(by_enumeration(tickets, load))


def test_a_part_says_for_which_stop_and_why():
    """The likeliest stop first, with the likeliest of its faults; what one day in ten uses is needed."""
    pump = Cause(FaultId("pump_seized"), 0.6)
    wears = Cause(FaultId("pump_winding_open"), 0.1)
    fuse = Cause(FaultId("fuse_blown"), 0.05)
    day = [DayTicket("a", (wears, fuse)), DayTicket("b", (pump, wears))]

    load = {part.part: part for part in day_load(day, Truck()).parts}

    told = [(use.ticket, use.fault) for use in load[CIRCULATOR].uses]
    assert told == [("b", "pump_seized"), ("a", "pump_winding_open")]
    assert load[CIRCULATOR].needed
    assert load[FUSE].chance_used < 0.1
    assert not load[FUSE].needed


def test_what_uses_the_same_parts_is_named_by_its_likeliest():
    """Causes that end in the same parts are one way to be repaired, whichever comes first."""
    cold = Cause(FaultId("outdoor_sensor_cold"), 0.1, homes=8)
    warm = Cause(FaultId("outdoor_sensor_warm"), 0.3, homes=4)
    assert len({faults()[cause.fault].parts for cause in (cold, warm)}) == 1

    (suspect,) = day_ticket("a", [cold, warm]).suspects

    assert suspect.fault == warm.fault
    assert (suspect.chance, suspect.homes) == pytest.approx((0.4, 5))  # of 8 and 4, one to three


def random_day(rnd: random.Random) -> list[DayTicket]:
    """Two to four tickets with three suspects each, for each of which the same homes wait."""
    rows = [f for f, row in faults().items() if row.parts]
    day = []
    for n in range(rnd.choice([2, 3, 4])):
        homes = rnd.choice([1, 3, 30])
        suspects = (Cause(f, rnd.uniform(0.05, 0.3), homes) for f in rnd.sample(rows, 3))
        day.append(DayTicket(f"t{n}", tuple(suspects)))
    return day


def saved(tickets: list[DayTicket], first_visits: Iterable[float]) -> float:
    """Minutes that first visits save: a trip of 90, and 15 for each home that waits, at most 240."""
    minutes = [90 + min(15 * t.suspects[0].homes, 240) for t in tickets]
    return sum(m * chance for m, chance in zip(minutes, first_visits, strict=True))


def every_load(tickets: list[DayTicket], truck: Truck) -> float:
    """The best of all loads with at most one of each part that fit."""
    wanted = sorted({p for t in tickets for s in t.suspects for p in faults()[s.fault].parts})
    always = {p: 3 for p in wanted if parts()[p].always_on_truck}
    free = [p for p in wanted if p not in always]
    best = 0.0
    for chosen in itertools.product((0, 1), repeat=len(free)):
        load = {p: n for p, n in zip(free, chosen, strict=True) if n}
        room = sum(parts()[p].room for p in load)
        cost = sum(parts()[p].cost for p in load)
        if room <= truck.room and cost <= truck.cost:
            best = max(best, saved(tickets, first_visits(tickets, {**always, **load})))
    return best


def test_the_load_is_close_to_the_best_of_all():
    """On forty small days and a tight truck: never under 0.95 of the best, on average 0.99."""
    rnd = random.Random(7)  # noqa: S311 - made-up days
    shares = []
    while len(shares) < 40:
        tickets, truck = random_day(rnd), Truck(rnd.uniform(1, 4), rnd.uniform(80, 350))
        free = {
            p
            for t in tickets
            for s in t.suspects
            for p in faults()[s.fault].parts
            if not parts()[p].always_on_truck
        }
        best = every_load(tickets, truck) if len(free) <= 10 else 0.0
        if best > 0:
            found = day_load(tickets, truck).first_visit
            shares.append(saved(tickets, (found[t.ticket] for t in tickets)) / best)

    assert min(shares) >= 0.95
    assert sum(shares) / len(shares) >= 0.99


def test_a_day_fits_the_truck_and_says_for_whom():
    """Room and cost are kept, each part names its tickets, and what is always aboard costs nothing."""
    tickets = [
        seized("a", 0.6),
        seized("b", 0.6),
        DayTicket("c", (Cause(FaultId("fuse_blown"), 0.7),)),
    ]

    day = day_load(tickets, Truck(room=5, cost=400))

    loaded = {p.part: p for p in day.parts}
    assert loaded[CIRCULATOR].quantity == 2
    assert {use.ticket for use in loaded[CIRCULATOR].uses} == {"a", "b"}
    assert [use.ticket for use in loaded[FUSE].uses] == ["c"]
    paid = [p for p in day.parts if not parts()[p.part].always_on_truck]
    assert sum(parts()[p.part].room * p.quantity for p in paid) <= 5
    assert sum(parts()[p.part].cost * p.quantity for p in paid) <= 400
    assert day_load(tickets, Truck(room=0.5, cost=20)).first_visit["a"] < day.first_visit["a"]


def test_rare_faults_that_end_in_one_part_are_one_reason_to_carry_it():
    """One visit in five between them is worth a pump's room and money; any one alone is not."""
    of_a_pump = [f for f, row in faults().items() if row.parts[:1] == (CIRCULATOR,)]
    assert len(of_a_pump) > 3
    each = 0.2 / len(of_a_pump)

    def loaded(causes: list[Cause]) -> set[PartId]:
        return {p.part for p in day_load([day_ticket("a", causes)], Truck()).parts}

    together = [Cause(fault, each) for fault in of_a_pump]
    assert uses(day_ticket("a", together))[CIRCULATOR] == pytest.approx(USE_SHARE[0] * 0.2)
    assert CIRCULATOR in loaded(together)
    assert CIRCULATOR not in loaded(together[:1])


def test_faults_with_the_same_parts_count_as_one():
    """Put together they use as much and are mended as often as one by one."""
    rnd = random.Random(5)  # noqa: S311 - made-up chances
    causes = tuple(Cause(f, rnd.uniform(0, 0.01)) for f in faults())
    single, together = DayTicket("a", causes), day_ticket("a", causes)

    assert len(together.suspects) < len(single.suspects)
    assert uses(together) == pytest.approx(uses(single))
    (lacking,) = missing([single])
    none = {p: left[rnd.choice([0, 1])] for p, left in lacking.items()}
    assert first_visit(together, none) == pytest.approx(first_visit(single, none))


def test_faults_of_several_homes_are_shares_of_one_visit():
    """Two homes with a fault of their own each are mended in one visit, not in two."""
    both = day_ticket("a", [Cause(FaultId("pump_seized"), 0.9), Cause(FaultId("fuse_blown"), 0.6)])

    assert [suspect.chance for suspect in both.suspects] == pytest.approx([0.6, 0.4])
