"""What is kept between two diagnoses saves time and changes nothing, and there is an end to it."""

from __future__ import annotations

import gc
import weakref
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.checks.notes import notes
from rules.choosing.value import question_values
from rules.diagnosis import Diagnosis, diagnose
from rules.diagnosis.exact import product
from rules.diagnosis.memo import Memo, bytes_of
from rules.diagnosis.moment import timeline
from rules.model import Answered, ApartmentId, Evidence, Household, RoomRead, TopicId
from tests.houses import built

HOME = ApartmentId("1A")
MESSAGES = [
    report("1A", "too_cold", hours_ago=5),
    report("2B", "too_cold", hours_ago=3),
    Evidence("m_3", NOW, Answered(HOME, TopicId("q_hot"), "cold")),
    report("3C", "noise", hours_ago=1),
    Evidence("m_5", NOW, RoomRead(HOME, 62.0, 70.0)),
    Evidence("m_6", NOW, RoomRead(ApartmentId("4A"), 69.0)),
]


def diagnosed(name: str, evidence: list[Evidence], now: datetime = NOW) -> Diagnosis:
    """A diagnosis of the house, which nobody has seen before if its name is new."""
    plant = built({**house(), "building": name, "name": name})
    return diagnose(plant, evidence, [Household(a.id) for a in plant.apartments], weather(), now)


def test_what_was_diagnosed_before_does_not_matter():
    """Message after message, or all at once in a house that is new: the same belief and questions."""
    for n in range(1, len(MESSAGES) + 1):
        one = diagnosed("seen", MESSAGES[:n], NOW + timedelta(minutes=n))
        other = diagnosed(f"new-{n}", MESSAGES[:n], NOW + timedelta(minutes=n))

        assert one.belief.states == pytest.approx(other.belief.states, abs=1e-12)
        assert question_values(one, HOME) == pytest.approx(question_values(other, HOME), abs=1e-9)
        for a, b in zip(one.groups, other.groups, strict=True):
            assert [s.probability for s in a.suspects] == pytest.approx(
                [s.probability for s in b.suspects], abs=1e-12
            )


def test_rows_of_a_home_are_sums_over_its_states():
    """Each look's chance by adding up the states that have it."""
    belief = diagnosed("summed", MESSAGES).belief
    for apartment in ("1A", "2B", "3C", "4B"):
        home = belief.homes[ApartmentId(apartment)]
        added = np.zeros((len(belief.onsets), home.kind.shape[0]))
        for onset, row in enumerate(belief.chances.of_all):
            np.add.at(added[onset], home.kind.look_of_state, row)
        assert belief.by_row(home) == pytest.approx(added, abs=1e-12)


def test_means_over_states_are_sums_over_them():
    """With and without what silence says, of a number for each look of a home and of each candidate."""
    belief = diagnosed("means", MESSAGES).belief
    draw = np.random.default_rng(5)
    for chances in (belief.chances, belief.chances_unheard):
        for apartment in ("1A", "2B", "3C", "4B"):
            kind = belief.homes[ApartmentId(apartment)].kind
            by_look = draw.random((len(belief.onsets), kind.shape[0]))
            mean = (chances.of_all * by_look[:, kind.look_of_state]).sum()
            found = (chances.by_look(kind) * by_look).sum()
            assert found == pytest.approx(mean, abs=1e-12)
        for candidate in range(0, len(belief.space.shared), 7):
            has_it = (belief.space.members == candidate).any(axis=1)
            summed = chances.of_all[:, has_it].sum()
            assert chances.of_shared(candidate) == pytest.approx(summed, abs=1e-12)


def test_a_report_is_kept_when_an_answer_comes():
    """What a home reported is the same table after its answer: only what is new is computed."""
    one = diagnosed("kept", MESSAGES[:2]).belief.homes[HOME]
    other = diagnosed("kept", MESSAGES[:3]).belief.homes[HOME]
    assert one.said["m_1A"] is other.said["m_1A"]
    assert set(other.said) == {"m_1A", "m_3"}


def test_what_is_there_with_each_candidate_is_a_sum_over_its_states():
    """Every candidate's chance by adding up the states that have it among their members."""
    belief = diagnosed("each", MESSAGES).belief
    states, of_all = belief.space.states, belief.chances.of_all
    added = np.zeros((len(of_all), len(states.shared)))
    for candidate in range(len(states.shared)):
        has_it = (states.members == candidate).any(axis=1)
        added[:, candidate] = of_all[:, has_it].sum(axis=1)
    assert belief.chances.with_each == pytest.approx(added, abs=1e-12)


def test_a_memo_forgets_what_was_wanted_longest_ago():
    """Three places: the fourth result takes that of the one that nobody asked for since."""
    made: list[str] = []
    memo = Memo(3)

    def want(name: str) -> str:
        return memo.once(name, lambda: made.append(name) or name)

    for name in ("a", "b", "c", "a", "d", "a", "c", "b"):
        assert want(name) == name
    assert made == ["a", "b", "c", "d", "b"]


def test_a_memo_of_bytes_forgets_until_the_rest_fits():
    """Arrays of 8, 16 and 40 bytes, room for 60; one larger than the room stays alone."""
    gone: list[int] = []
    memo = Memo(10, 60, gone=lambda made: gone.append(len(made[0])))

    for length in (1, 2, 5, 100):
        memo.once(length, lambda n=length: (np.zeros(n), "beside"))
    assert gone == [1, 2, 5]
    assert [len(made[0]) for made in memo.values()] == [100]


def test_bytes_are_counted_once_and_of_a_view_those_behind_it():
    """Three arrays of a hundred numbers of 8 bytes, held in several ways."""
    one, two, three = np.zeros(100), np.zeros((10, 10)), np.zeros(100)
    memo = Memo(3)
    memo.once("one", lambda: {"again": (one, [one, two[:, 3]])})

    assert bytes_of([memo, one, np.broadcast_to(three, (50, 100)), "none", 7]) == 3 * 800


def test_a_space_that_is_let_go_is_gone_at_once():
    """Nothing waits for the collector of cycles, which counts objects and no megabytes."""
    gc.collect()
    gc.disable()
    try:
        diagnosis = diagnosed("left", MESSAGES)
        question_values(diagnosis, HOME)
        notes(diagnosis, diagnosis.groups[0])
        space = weakref.ref(diagnosis.belief.space)
        kind = weakref.ref(diagnosis.belief.homes[HOME].kind)
        del diagnosis
        for n in range(4):
            diagnosed(f"next-{n}", MESSAGES[:1])
        assert space() is None
        assert kind() is None
    finally:
        gc.enable()


@pytest.mark.parametrize("shape", [(0, 3, 2), (1, 1, 1), (700, 73, 40), (3, 900, 400)])
def test_a_product_in_blocks_is_a_product(shape):
    """Against numpy's own, sizes that need one block and many."""
    rows, inner, columns = shape
    draw = np.random.default_rng(7)
    left, right = draw.random((rows, inner)), draw.random((inner, columns))

    assert product(left, right) == pytest.approx(left @ right, rel=1e-12)


@pytest.mark.parametrize(
    "until",
    [
        datetime(2027, 1, 14, 23, 17, tzinfo=UTC),
        # Clocks in New York go forward on 14 March and back on 7 November 2027.
        datetime(2027, 3, 14, 16, 5, tzinfo=UTC),
        datetime(2027, 11, 7, 19, 40, tzinfo=UTC),
    ],
)
def test_waking_hours_are_counted_by_the_clock_on_the_wall(until):
    """Hour by hour from the start of each piece with the time zone's own rules."""
    times = timeline([report("1A", "too_cold")], until, "America/New_York")
    zone = ZoneInfo("America/New_York")
    _, waking = times.waking_pieces(until)
    for onset, pieces in zip(times.onsets, waking, strict=True):
        start = max(onset.at, until - timedelta(days=7))
        step = (until - start) / len(pieces)
        for n, hours in enumerate(pieces):
            at, end, counted = start + step * n, start + step * (n + 1), 0.0
            while at < end:
                length = min(timedelta(hours=1), end - at)
                awake = 7 <= at.astimezone(zone).hour < 23
                counted += (1.0 if awake else 0.2) * length / timedelta(hours=1)
                at += length
            assert hours == pytest.approx(counted, abs=1e-9)
