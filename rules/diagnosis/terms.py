"""What each source of evidence says about one home: log likelihoods over looks and own states.

Theory of operation
-------------------
Terms are kept apart per source (message or finding), so that "what if this message had not come" is
one subtraction. Reports of one home count once, together, under the first of them; of several room
temperatures and of several answers to one question the last one counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from rules.diagnosis.answers import answer_chances, answer_values, changes_with_time
from rules.diagnosis.exact import Floats
from rules.diagnosis.measuring import chance, homes_touched, speaks_for
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.noticing import merged, report_log_likelihood, room_log_likelihood
from rules.diagnosis.space import HomeClass, Space
from rules.model import Answered, ApartmentId, Evidence, Found, Reported, RoomRead

__all__ = ["found_term", "home_terms", "reports", "set_point", "shared_term", "stack_onsets"]


def reports(said: Iterable[Evidence]) -> list[Reported]:
    """The reports among some evidence."""
    return [e.fact for e in said if isinstance(e.fact, Reported)]


def set_point(said: Iterable[Evidence]) -> float | None:
    """What the people of a home find comfortable, as far as they told it."""
    told = [e.fact.set_f for e in said if isinstance(e.fact, RoomRead) and e.fact.set_f is not None]
    # A thermostat turned up in despair says little about what people find comfortable.
    return None if not told else min(max(told[-1], 62.0), 76.0)


def stack_onsets(times: Timeline, term: Callable[[Onset], Floats]) -> Floats:
    """One term for every candidate onset, one below the other: (onsets x looks, own states)."""
    return np.concatenate([term(onset) for onset in times.onsets])


def home_terms(
    space: Space, kind: HomeClass, said: Sequence[Evidence], times: Timeline
) -> dict[str, Floats]:
    """Log likelihood by source of all that one household said."""
    terms: dict[str, Floats] = {}

    def add(source: str, term: Callable[[Onset], Floats]) -> None:
        stacked = stack_onsets(times, term)
        terms[source] = terms[source] + stacked if source in terms else stacked

    first = next((e for e in said if isinstance(e.fact, Reported)), None)
    together = merged(reports(said))
    if first is not None and together is not None:
        add(first.source, lambda o: report_log_likelihood(kind, together, first.at, o, times))
    for item in _last_room(said):
        room, at = item.fact, item.at
        assert isinstance(room, RoomRead)  # noqa: S101 - that is what was looked for
        add(item.source, lambda o, r=room, t=at: room_log_likelihood(kind, r, o.hours(t)))  # type: ignore[misc]
    answers = {e.fact.topic: e for e in said if isinstance(e.fact, Answered)}
    for topic, item in answers.items():
        means, at = getattr(item.fact, "means", ""), item.at
        if means not in answer_values(topic):
            continue
        if changes_with_time(topic):
            add(
                item.source,
                lambda o, q=topic, m=means, t=at: np.log(  # type: ignore[misc]
                    answer_chances(space, kind, q, o.hours(t))[m]
                ),
            )
        else:
            fixed = np.log(answer_chances(space, kind, topic, 0.0)[means])
            add(item.source, lambda _, f=fixed: f)  # type: ignore[misc]
    return terms


def found_term(space: Space, kind: HomeClass, found: Found) -> Floats:
    """A check that belongs to one home: its own faults speak first, then the shared ones."""
    logs, healthy = _member_logs(space, found, homes_touched(space.plant, found.component))
    of_looks = logs[kind.members]
    by_look = _best(of_looks, healthy)
    own = np.array(
        [
            np.nan,
            *(
                np.log(chance(e, found)) if (e := speaks_for(c.row, found)) else np.nan
                for c in kind.local
            ),
        ]
    )
    return np.where(np.isnan(own)[None, :], by_look[:, None], own[None, :])


def shared_term(space: Space, found: Found, touched: frozenset[ApartmentId]) -> Floats:
    """A check of something that several complaining homes share; (shared states,)."""
    logs, healthy = _member_logs(space, found, touched)
    return _best(logs[space.members], healthy)


def _last_room(said: Sequence[Evidence]) -> Sequence[Evidence]:
    rooms = [e for e in said if isinstance(e.fact, RoomRead) and e.fact.room_f is not None]
    return rooms[-1:]


def _best(of_members: Floats, healthy: float) -> Floats:
    """The likelihood of whichever member speaks for the check best, else a healthy plant's."""
    speaks = ~np.isnan(of_members).all(axis=1)
    best = np.where(np.isnan(of_members), -np.inf, of_members).max(axis=1)
    return np.where(speaks, best, healthy)


def _member_logs(
    space: Space, found: Found, touched: frozenset[ApartmentId]
) -> tuple[Floats, float]:
    """Log likelihood if this shared fault speaks for the finding, NaN if not; and if healthy."""
    logs = np.full(len(space.shared) + 1, np.nan)  # the last entry serves member -1
    for n, candidate in enumerate(space.shared):
        expected = speaks_for(candidate.row, found)
        if expected and candidate.homes & touched:
            logs[n] = np.log(chance(expected, found))
    return logs, float(np.log(chance((), found)))


def by_apartment(evidence: Iterable[Evidence]) -> Mapping[ApartmentId, list[Evidence]]:
    """What each home said, in the order of time."""
    said: dict[ApartmentId, list[Evidence]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source, repr(e.fact))):
        if not isinstance(item.fact, Found):
            said.setdefault(item.fact.apartment, []).append(item)
    return said
