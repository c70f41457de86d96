"""A few whole episodes: the figures hang together, and a seed gives the same again."""

from __future__ import annotations

import io

import numpy as np
import pytest
from rich.console import Console

from rules.model import Kind

from .breakdowns import breakdowns
from .drawing import draw
from .figures import Share, brier, reliability
from .picture import reliability_svg
from .rivals import best_possible, each_alone, kinds_of, three_on_a_loop
from .run import evaluate, print_report, save_picture
from .scoring import score_episode


@pytest.fixture(scope="module")
def told():
    """What the progress callback heard."""
    return []


@pytest.fixture(scope="module")
def report(told):
    """Two episodes in this process."""
    return evaluate(2, 3, lambda done, of: told.append((done, of)), workers=1)


def test_every_episode_is_scored_and_counted(report, told):
    """No crash, progress after each, at least one breakdown somebody complained of."""
    assert report.crashes == ()
    assert told == [(1, 2), (2, 2)]
    assert len(report.episodes) == 2
    assert all(e.cases for e in report.episodes)
    assert all("diagnosis" in c.judged for c in report.cases)
    assert all(0 <= q <= 5 for c in report.cases for q in c.questions)


def test_the_same_seed_gives_the_same_score(report):
    """An episode can be replayed from its seed alone."""
    first = report.episodes[0]

    assert score_episode(draw(first.seed)) == first


def test_the_report_prints_all_tables_and_a_picture(report, tmp_path):
    """Every judge stands in the summary; the picture is an SVG."""
    out = io.StringIO()
    print_report(report, Console(file=out, width=220))
    save_picture(report, tmp_path / "curve.svg")

    for words in ("each alone", "three on a loop", "best possible", "Brier", "By topology"):
        assert words in out.getvalue()
    assert (tmp_path / "curve.svg").read_text(encoding="utf-8").startswith("<svg")


def test_a_complaint_has_a_cause_that_alone_explains_it():
    """In eight episodes each cause named for a complaint is one of the episode's cases."""
    for seed in range(8):
        drawn = draw(seed)
        named = set().union(*drawn.causes)

        assert named <= set(range(len(drawn.cases)))
        assert named
        assert all(drawn.people.reachable[c.home] for c in drawn.complaints)


def test_rivals_make_a_ticket_of_every_complaint_once():
    """Nothing is lost and nothing is counted twice."""
    for seed in range(4):
        drawn = draw(seed)
        for tickets in (each_alone(drawn), three_on_a_loop(drawn)):
            held = sorted(k for t in tickets for k in t.complaints)

            assert held == list(range(len(drawn.complaints)))


def test_the_simulators_own_model_beats_chance_by_far():
    """Knowing the true model, the right component is in the first three most of the time."""
    right = []
    for seed in range(12):
        drawn = draw(seed)
        tickets = best_possible(drawn, ())
        if tickets is not None:
            components = [c for _, c, _ in tickets[0].suspects[:3]]
            right.append(drawn.cases[0].component in components)

    assert len(right) >= 6
    assert np.mean(right) > 0.5


@pytest.mark.parametrize(
    ("fault", "kinds"),
    [
        ("boiler_lockout", {Kind.TOO_COLD, Kind.NO_HOT_WATER}),
        ("valve_open_switch_made", {Kind.TOO_HOT}),
        ("stat_reads_low", {Kind.TOO_HOT}),
        ("pump_bearing_noise", {Kind.NOISE}),
        ("system_leak", {Kind.LEAK}),
        ("dhw_none", {Kind.NO_HOT_WATER}),
    ],
)
def test_rivals_know_what_a_fault_makes_people_say(fault, kinds):
    """The simple rivals filter by the kind of the complaint."""
    assert kinds_of(breakdowns()[fault], taps_share_boiler=True) == kinds


def test_shares_carry_the_wilson_interval():
    """8 of 10: 0.490 to 0.943 (Wilson 1927, worked with z = 1.96 by hand)."""
    low, high = Share(8, 10).interval

    assert low == pytest.approx(0.490, abs=0.001)
    assert high == pytest.approx(0.943, abs=0.001)


def test_perfect_forecasts_score_zero_and_lie_on_the_diagonal():
    """Brier score 0; a coin called at 0.5 scores 0.25."""
    assert brier([(1.0, True), (0.0, False)]) == 0
    assert brier([(0.5, True), (0.5, False)]) == 0.25

    bins = reliability([(0.25, True)] + [(0.25, False)] * 3)

    assert [(b.stated, b.seen.value) for b in bins] == [(0.25, 0.25)]
    assert reliability_svg(bins, "a title").count("<circle") == 1
