"""Which ticket goes on as which group."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.usecases.diagnosing.grouping import Cluster, Holding, assign

FIRST = datetime(2026, 1, 9, tzinfo=UTC)


def cluster(*complaints: str, danger: bool = False) -> Cluster:
    """A group of complaints."""
    return Cluster(frozenset(complaints), danger)


def holding(ticket: str, *complaints: str, hours: int = 0, danger: bool = False) -> Holding:
    """An open ticket."""
    return Holding(ticket, FIRST + timedelta(hours=hours), danger, frozenset(complaints))


def test_a_group_keeps_the_ticket_that_shares_most() -> None:
    """Two of three complaints outweigh one, even if that one's ticket is older."""
    tickets = [holding("old", "a"), holding("young", "b", "c", hours=1)]

    assert assign([cluster("a", "b", "c")], tickets) == ("young",)


def test_the_oldest_ticket_wins_a_tie() -> None:
    """Of two tickets with one complaint each the older one goes on."""
    tickets = [holding("young", "b", hours=1), holding("old", "a")]

    assert assign([cluster("a", "b")], tickets) == ("old",)


def test_a_split_gives_the_smaller_part_a_new_ticket() -> None:
    """One ticket cannot go on as two groups."""
    parts = [cluster("a"), cluster("b", "c")]

    assert assign(parts, [holding("one", "a", "b", "c")]) == (None, "one")


def test_a_danger_ticket_never_takes_in_a_group_without_danger() -> None:
    """A group is not put on the ticket of a danger."""
    assert assign([cluster("a")], [holding("gas", "a", danger=True)]) == (None,)


def test_a_danger_keeps_the_ticket_it_was_alone_on() -> None:
    """A complaint that turns dangerous stays on its own ticket."""
    assert assign([cluster("a", danger=True)], [holding("one", "a")]) == ("one",)


names = st.sampled_from("abcdefgh")


@given(st.lists(st.sets(names, min_size=1), max_size=5), st.permutations("abcdefgh"))
def test_no_ticket_is_used_twice_and_none_without_reason(
    sets: list[set[str]], order: list[str]
) -> None:
    """Each kept ticket goes to one group only, and shares a complaint with it."""
    clusters = [cluster(*part) for part in sets]
    tickets = [holding(f"t{n}", name, hours=n) for n, name in enumerate(order)]
    shared = {t.ticket: t.complaints for t in tickets}

    kept = [(c, t) for c, t in zip(clusters, assign(clusters, tickets), strict=True) if t]

    assert len({t for _, t in kept}) == len(kept)
    assert all(c.complaints & shared[t] for c, t in kept)
