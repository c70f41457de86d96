"""Compares what was said with what was true, one row per breakdown that somebody complained of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from rules.diagnosis import Group
from rules.faults.catalogue import parts
from rules.model import PartId
from rules.parts import load_list

from .breakdowns import breakdowns
from .drawing import Drawn
from .episodes import Played, Visit, play, visit
from .rivals import Ticket, best_possible, each_alone, three_on_a_loop

__all__ = ["CaseScore", "EpisodeScore", "Judged", "score_episode"]


@dataclass(frozen=True)
class Judged:
    """How one judge did with one breakdown."""

    first: bool
    three: bool
    fault_three: bool
    one_ticket: bool | None
    part_loaded: bool | None
    load_cost: float


@dataclass(frozen=True)
class CaseScore:
    """A breakdown with at least one complaint, and how everybody did with it."""

    seed: int
    topology: str
    fault: str
    component: str
    at: str
    shared: bool
    together_with: str
    complaints: int
    said: tuple[tuple[str, str, float], ...]
    judged: dict[str, Judged]
    questions: tuple[int, ...]
    load_items: int
    visit: Visit | None


@dataclass(frozen=True)
class EpisodeScore:
    """One episode: its cases and what counts per ticket."""

    seed: int
    topology: str
    homes: int
    cases: tuple[CaseScore, ...]
    tickets: int
    merged: int
    merged_idle: int
    causes_heard: int
    impossible: int
    silent_draws: int
    component_pairs: tuple[tuple[float, bool], ...] = ()
    fault_pairs: tuple[tuple[float, bool], ...] = ()
    rival_merged: dict[str, tuple[int, int]] = field(default_factory=dict)


def score_episode(drawn: Drawn) -> EpisodeScore:
    """Play an episode and score everybody on it."""
    played = play(drawn)
    groups = played.diagnosis.groups if played.diagnosis is not None else ()
    at = {drawn.house.names[c.home]: k for k, c in enumerate(drawn.complaints)}
    ours = [
        Ticket(
            tuple(at[a] for a in g.apartments if a in at),
            tuple((s.fault, s.component, s.probability) for s in g.suspects),
        )
        for g in groups
    ]
    others = {"each alone": each_alone(drawn), "three on a loop": three_on_a_loop(drawn)}
    ceiling = best_possible(drawn, played.asked)
    if ceiling is not None:
        others["best possible"] = ceiling
    cases = tuple(
        _score_case(drawn, played, number, groups, ours, others) for number in drawn.heard_cases
    )
    merged, idle = _merges(drawn, ours)
    return EpisodeScore(
        seed=drawn.seed,
        topology=drawn.made.kind,
        homes=len(drawn.house.names),
        cases=cases,
        tickets=len(ours),
        merged=merged,
        merged_idle=idle,
        causes_heard=len(cases),
        impossible=played.impossible,
        silent_draws=drawn.silent_draws,
        component_pairs=_pairs(drawn, ours, by_fault=False),
        fault_pairs=_pairs(drawn, ours, by_fault=True),
        rival_merged={n: (_merges(drawn, t)[0], len(t)) for n, t in others.items()},
    )


def _score_case(
    drawn: Drawn,
    played: Played,
    number: int,
    groups: Sequence[Group],
    ours: Sequence[Ticket],
    others: dict[str, list[Ticket]],
) -> CaseScore:
    case = drawn.cases[number]
    mine = [k for k, causes in enumerate(drawn.causes) if number in causes]
    with_cases = [c.row.id for k, c in enumerate(drawn.cases) if k != number]
    judged = {n: _judge(drawn, number, t, None) for n, t in others.items()}
    best = _ticket_of(ours, mine)
    group = groups[best] if best is not None else None
    went, loaded = None, ()
    if group is not None and played.diagnosis is not None:
        loaded = load_list(played.diagnosis, group)
        went = visit(drawn, played, group)
    judged["diagnosis"] = _judge(drawn, number, ours, tuple(x.part for x in loaded))
    return CaseScore(
        seed=drawn.seed,
        topology=drawn.made.kind,
        fault=case.row.id,
        component=case.component,
        at=case.row.at,
        shared=case.row.is_common,
        together_with=" and ".join(with_cases),
        complaints=len(mine),
        said=ours[best].suspects[:4] if best is not None else (),
        judged=judged,
        questions=tuple(played.questions[k] for k in mine),
        load_items=len(loaded),
        visit=went,
    )


def _ticket_of(tickets: Sequence[Ticket], mine: Sequence[int]) -> int | None:
    """The ticket that holds most of these complaints, the earliest if several do."""
    if not tickets:
        return None
    return max(
        range(len(tickets)),
        key=lambda n: (len(set(tickets[n].complaints) & set(mine)), -min(tickets[n].complaints)),
    )


def _judge(
    drawn: Drawn, number: int, tickets: Sequence[Ticket], loaded: tuple[str, ...] | None
) -> Judged:
    case = drawn.cases[number]
    mine = [k for k, causes in enumerate(drawn.causes) if number in causes]
    only_mine = {k for k, causes in enumerate(drawn.causes) if causes == {number}}
    best = _ticket_of(tickets, mine)
    suspects = tickets[best].suspects if best is not None else ()
    components = [c for _, c, _ in suspects]
    if loaded is None:
        rows = breakdowns()
        loaded = tuple(rows[f].parts[0] for f, _, _ in suspects[:3] if rows[f].parts)
    one = None
    if case.row.is_common and len(only_mine) > 1:
        one = any(only_mine <= set(t.complaints) for t in tickets)
    needed = case.row.parts[0] if case.row.parts else None
    return Judged(
        first=components[:1] == [case.component],
        three=case.component in components[:3],
        fault_three=(case.row.id, case.component) in [(f, c) for f, c, _ in suspects[:3]],
        one_ticket=one,
        part_loaded=None if needed is None else needed in loaded,
        load_cost=sum(parts()[PartId(p)].cost for p in set(loaded)),
    )


def _merges(drawn: Drawn, tickets: Sequence[Ticket]) -> tuple[int, int]:
    """Tickets that hold complaints of two causes; and of a cause and of none."""
    merged = idle = 0
    for ticket in tickets:
        causes = [drawn.causes[k] for k in ticket.complaints]
        real = [c for c in causes if c]
        apart = any(not a & b for n, a in enumerate(real) for b in real[n + 1 :])
        merged += apart
        idle += not apart and bool(real) and len(real) < len(causes)
    return merged, idle


def _pairs(
    drawn: Drawn, tickets: Sequence[Ticket], *, by_fault: bool
) -> tuple[tuple[float, bool], ...]:
    """Each stated chance with whether it was so, for the reliability curve."""
    pairs = []
    for ticket in tickets:
        true = [drawn.cases[n] for k in ticket.complaints for n in drawn.causes[k]]
        stated: dict[tuple[str, str], float] = {}
        for fault, component, chance in ticket.suspects:
            key = (fault if by_fault else "", component)
            stated[key] = stated.get(key, 0.0) + chance
        right = {(c.row.id if by_fault else "", str(c.component)) for c in true}
        pairs += [(min(chance, 1.0), key in right) for key, chance in stated.items()]
    return tuple(pairs)
