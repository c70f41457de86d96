"""Which ticket goes on as which group when people have pinned and split: the pure part."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.usecases.diagnosing.grouping import Cluster, Holding, assign, linked

FIRST = datetime(2026, 1, 9, tzinfo=UTC)


def holding(
    ticket: str, loose: str = "", pinned: str = "", *, hours: int = 0, alone: bool = False
) -> Holding:
    """An open ticket with complaints named by letters."""
    at = FIRST + timedelta(hours=hours)
    return Holding(
        ticket, at, danger=False, complaints=frozenset(loose), pinned=frozenset(pinned), alone=alone
    )


def cluster(loose: str, pinned: str = "", *, danger: bool = False) -> Cluster:
    """Complaints of one cause named by letters."""
    return Cluster(frozenset(loose), danger, frozenset(pinned))


def test_a_newcomer_comes_to_where_its_cause_is_pinned() -> None:
    """A group with nothing of its own on any ticket goes where a person has put its cause."""
    assert assign([cluster("n", "a")], [holding("one", "", "a")]) == ("one",)


def test_who_may_move_outweighs_who_is_pinned_away() -> None:
    """Pinning one of two to another ticket does not drag the other one along."""
    tickets = [holding("away", "c", "a"), holding("home", "b", hours=1)]

    assert assign([cluster("b", "a"), cluster("c")], tickets) == ("home", "away")


def test_a_ticket_split_off_takes_in_nothing() -> None:
    """A newcomer of the same cause gets a new ticket rather than the one that stays alone."""
    assert assign([cluster("n", "a")], [holding("one", "", "a", alone=True)]) == (None,)


def test_a_danger_takes_no_ticket_with_pinned_homes() -> None:
    """A danger leaves the ticket on which others are pinned."""
    assert assign([cluster("d", danger=True)], [holding("one", "d", "a")]) == (None,)


def test_causes_put_together_by_a_person_are_one_group() -> None:
    """Newcomers of two causes whose homes are pinned to one ticket go there together."""
    tickets = [holding("both", "", "ab"), holding("other", "c")]

    found = linked([cluster("x", "a"), cluster("y", "b"), cluster("c")], tickets)

    assert {c.complaints for c in found} == {frozenset("xy"), frozenset("c")}
    assert assign(found, tickets) == ("both", "other")


LETTERS = "abcdefgh"


@st.composite
def situations(draw: st.DrawFn) -> tuple[list[Cluster], list[Holding]]:
    """Complaints in causes on one hand, on tickets on the other; some pinned, some tickets alone."""
    causes = draw(st.lists(st.integers(0, 3), min_size=8, max_size=8))
    places = draw(st.lists(st.integers(0, 4), min_size=8, max_size=8))  # 4: on no ticket yet
    pins = draw(st.sets(st.sampled_from(LETTERS)))
    alone = draw(st.sets(st.integers(0, 3), max_size=1))
    where = dict(zip(LETTERS, places, strict=True))
    pinned = {c for c in pins if where[c] < 4} | {c for c in LETTERS if where[c] in alone}
    clusters = []
    for cause in range(4):
        members = {c for c, k in zip(LETTERS, causes, strict=True) if k == cause}
        clusters.append(Cluster(frozenset(members - pinned), pinned=frozenset(members & pinned)))
    holdings = [
        holding(
            f"t{place}",
            "".join(c for c in LETTERS if where[c] == place and c not in pinned),
            "".join(c for c in LETTERS if where[c] == place and c in pinned),
            hours=place,
            alone=place in alone,
        )
        for place in range(4)
    ]
    return clusters, holdings


@given(situations())
def test_grouping_twice_changes_nothing_more(
    situation: tuple[list[Cluster], list[Holding]],
) -> None:
    """Once the complaints are where grouping puts them, grouping leaves them there."""
    clusters, holdings = situation
    groups = linked(clusters, holdings)
    kept = assign(groups, holdings)
    tickets = [t or f"new{n}" for n, t in enumerate(kept)]
    moved = dict(zip(tickets, (g.complaints for g in groups), strict=True))
    after = [
        Holding(
            h.ticket,
            h.opened_at,
            danger=False,
            complaints=moved.get(h.ticket, frozenset()),
            pinned=h.pinned,
            alone=h.alone,
        )
        for h in holdings
    ]
    after += [
        Holding(t, FIRST + timedelta(days=1), danger=False, complaints=moved[t])
        for t, old in zip(tickets, kept, strict=True)
        if old is None
    ]

    again = linked(clusters, after)

    assert [g.complaints for g in again] == [g.complaints for g in groups]
    assert list(assign(again, after)) == tickets
    assert len(set(tickets)) == len(tickets)
