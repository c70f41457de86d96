"""Which ticket goes on as which group, also when people have pinned and split."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.usecases.diagnosing.grouping import Cluster, Holding, assign, linked

FIRST = datetime(2026, 1, 9, tzinfo=UTC)


BOILER = ("source", "boiler-1")


def cluster(
    loose: str,
    pinned: str = "",
    *,
    danger: bool = False,
    about: tuple[str, str] | None = None,
) -> Cluster:
    """Complaints of one cause, named by letters."""
    return Cluster(frozenset(loose), danger, frozenset(pinned), about=about)


def holding(
    ticket: str,
    loose: str = "",
    pinned: str = "",
    *,
    hours: int = 0,
    danger: bool = False,
    alone: bool = False,
    about: tuple[str, str] | None = None,
    days: int = 0,
    barren: bool = False,
    stale: bool = False,
    firm: str = "",
    first: str = "",
) -> Holding:
    """An open ticket with complaints named by letters; ``days`` since the last of them."""
    at = FIRST + timedelta(hours=hours)
    return Holding(
        ticket, at, danger, frozenset(loose), frozenset(pinned),
        alone=alone, about=about, days=days, barren=barren, stale=stale,
        firm=frozenset(firm), first=first,
    )  # fmt: skip


def test_a_group_keeps_the_ticket_that_shares_most() -> None:
    """Two of three complaints outweigh one, even if that one's ticket is older."""
    tickets = [holding("old", "a"), holding("young", "bc", hours=1)]

    assert assign([cluster("abc")], tickets) == ("young",)


def test_the_oldest_ticket_wins_a_tie() -> None:
    """Of two tickets with one complaint each, as fresh, the older one goes on."""
    tickets = [holding("young", "b", hours=1), holding("old", "a")]

    assert assign([cluster("ab")], tickets) == ("old",)


def test_the_ticket_about_the_same_thing_wins_a_tie() -> None:
    """The boiler's ticket goes on as the boiler's group, though the other one is older and fresher."""
    tickets = [holding("own", "a"), holding("boiler", "b", hours=1, days=9, about=BOILER)]

    assert assign([cluster("ab", about=BOILER)], tickets) == ("boiler",)


def test_the_freshest_ticket_wins_a_tie_of_other_things() -> None:
    """The one whose complaint was opened, or opened again, last."""
    tickets = [holding("old", "a", days=8), holding("opened again", "b", hours=1)]

    assert assign([cluster("ab", about=BOILER)], tickets) == ("opened again",)


def test_where_visits_found_nothing_others_are_not_taken_in() -> None:
    """Whether or not another ticket is there; who was on it alone stays."""
    barren = holding("barren", "a", barren=True, stale=True, about=BOILER)

    assert assign([cluster("an", about=BOILER)], [barren]) == (None,)
    assert assign([cluster("ab")], [barren, holding("other", "b", hours=1)]) == ("other",)
    assert assign([cluster("a")], [barren]) == ("barren",)
    together = [holding("barren", "ab", barren=True), holding("other", "cd", hours=1)]
    assert assign([cluster("abcd")], together) == ("other",)


def test_a_person_may_put_others_where_visits_found_nothing() -> None:
    """Pins hold."""
    barren = holding("barren", "", "a", barren=True, stale=True)

    assert assign([cluster("n", "a")], [barren]) == ("barren",)


def test_a_split_gives_the_smaller_part_a_new_ticket() -> None:
    """One ticket cannot go on as two groups."""
    parts = [cluster("a"), cluster("bc")]

    assert assign(parts, [holding("one", "abc")]) == (None, "one")


def test_a_ticket_in_somebodys_hands_stays_with_those_it_was_taken_up_for() -> None:
    """Somebody is on the way to a and b; three that came later turn out to have another cause."""
    on_the_way = holding("one", "abxyz", firm="ab")

    assert assign([cluster("xyz"), cluster("ab")], [on_the_way]) == (None, "one")


def test_of_equal_parts_the_ticket_stays_with_who_was_on_it_first() -> None:
    """Two and two; whichever part the diagnosis names first."""
    parts = [cluster("ab"), cluster("xy")]

    assert assign(parts, [holding("one", "abxy", first="x")]) == (None, "one")


def test_why_pinned_homes_are_joined_is_said_of_those_that_move() -> None:
    """A person has put a chilly home on a boiler's ticket; who comes later comes for the boiler."""
    chilly = Cluster(frozenset(), pinned=frozenset("c"), why="batteries")
    boiler = Cluster(frozenset("n"), pinned=frozenset("a"), why="lockout", about=BOILER)

    (joined,) = linked([chilly, boiler], [holding("one", "", "ac")])

    assert (joined.why, joined.about) == ("lockout", BOILER)


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
    clusters = [cluster("".join(part)) for part in sets]
    tickets = [holding(f"t{n}", name, hours=n) for n, name in enumerate(order)]
    shared = {t.ticket: t.complaints for t in tickets}

    kept = [(c, t) for c, t in zip(clusters, assign(clusters, tickets), strict=True) if t]

    assert len({t for _, t in kept}) == len(kept)
    assert all(c.complaints & shared[t] for c, t in kept)


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
    barren = draw(st.sets(st.integers(0, 3)))
    things = st.sampled_from([None, BOILER])
    days = draw(st.lists(st.integers(0, 99), min_size=4, max_size=4))
    firm, first = draw(st.sets(st.sampled_from(LETTERS))), draw(st.permutations(LETTERS))
    where = dict(zip(LETTERS, places, strict=True))
    pinned = {c for c in pins if where[c] < 4} | {c for c in LETTERS if where[c] in alone}
    clusters = []
    for cause in range(4):
        members = {c for c, k in zip(LETTERS, causes, strict=True) if k == cause}
        loose, fixed = frozenset(members - pinned), frozenset(members & pinned)
        clusters.append(Cluster(loose, pinned=fixed, about=draw(things)))
    holdings = [
        holding(
            f"t{place}",
            "".join(c for c in LETTERS if where[c] == place and c not in pinned),
            "".join(c for c in LETTERS if where[c] == place and c in pinned),
            hours=place,
            alone=place in alone,
            about=draw(things),
            days=days[place],
            barren=place in barren,
            stale=place in barren and sum(where[c] == place for c in LETTERS) == 1,
            firm="".join(c for c in firm if where[c] == place),
            first=next((c for c in first if where[c] == place), ""),
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
    about = dict(zip(tickets, (g.about for g in groups), strict=True))
    after = []
    for h in holdings:
        there = moved.get(h.ticket, frozenset())
        one_home = len(there | h.pinned) == 1
        held = {"complaints": there, "about": about.get(h.ticket, h.about)}
        held["firm"] = h.firm & (there | h.pinned)
        after.append(replace(h, **held, stale=h.barren and one_home))
    after += [
        Holding(t, FIRST + timedelta(days=1), danger=False, complaints=moved[t])
        for t, old in zip(tickets, kept, strict=True)
        if old is None
    ]

    again = linked(clusters, after)

    assert [g.complaints for g in again] == [g.complaints for g in groups]
    assert list(assign(again, after)) == tickets
    assert len(set(tickets)) == len(tickets)
