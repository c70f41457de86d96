"""What goes with each answer, by adding up every onset, look and own state one by one."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from conftest import NOW, report, weather

from rules.choosing.masses import weigh
from rules.diagnosis import diagnose
from rules.diagnosis.answers import answer_values, replies
from rules.diagnosis.blame import blame_of
from rules.model import Answered, ApartmentId, Evidence, TopicId

HOME = ApartmentId("1A")
# Topics that fault rows tell of, that few keys decide, and that go by the heat, in no order.
TOPICS = tuple(TopicId(t) for t in ("q_up", "q_rooms", "q_dhw", "q_hot", "q_start", "q_screen"))
EVIDENCE = [
    report("1A", "too_cold", hours_ago=6),
    report("2B", "too_cold", hours_ago=3),
    Evidence("m_3", NOW, Answered(HOME, TopicId("q_rooms"), "all")),
]


def by_hand(diagnosis, topics):
    """Mass on candidates and own states, in all, with no answer and with each; nothing left out."""
    belief, cause = diagnosis.belief, diagnosis.causes[HOME]
    home = belief.homes[HOME]
    kind, keys = home.kind, home.keys
    rows = belief.by_row(home)
    given = home.own_given_key
    blame = blame_of(home, cause.explains)
    part = (1 - blame.own / home.total.likely[:, blame.key])[:, blame.case][:, :, keys.of_own]
    count, (looks, states) = len(belief.space.shared), kind.shape
    careful = 1 - float(
        np.einsum(
            "nl,nls,nls->",
            rows,
            given[:, keys.of_look],
            home.careless(*np.indices((3, looks)).reshape(2, -1)).reshape(3, looks, -1)[
                :, :, keys.of_own
            ],
        )
    )
    likely = [np.ones((3, looks, states))]
    since = belief.since(HOME)
    for topic in topics:
        reply, choices = replies(belief.space, kind, topic), len(answer_values(topic))
        for value in reply.values:
            chance = reply.keys.pick(
                np.broadcast_to(reply.chance(value, since), (3, *reply.keys.shape)),
                np.arange(looks),
                np.arange(states),
            )
            likely.append(careful * chance + (1 - careful) * (chance / 2 + 0.5 / choices))
    mass = np.zeros((len(likely), count + 1 + states))
    for look in range(looks):
        behind = cause.explains[kind.members[look]]
        to_shared = part[:, look] * (behind.sum() > 0)
        here = rows[:, look, None] * given[:, keys.of_look[look]]
        for row, chances in zip(mass, likely, strict=True):
            with_it = here * chances[:, look]
            row[count + 1 :] += (with_it * (1 - to_shared)).sum(axis=0)
            for member, does in zip(kind.members[look], behind, strict=True):
                row[member if member >= 0 else count] += (
                    does * float((with_it * to_shared).sum()) / max(behind.sum(), 1)
                )
    return mass[:, :count], mass[:, count + 1 :]


@pytest.mark.parametrize("minutes", [0, 200])
def test_masses_are_sums_over_all_states(plant, households, minutes):
    """Shared and own faults, before any answer and with each answer to six questions."""
    now = NOW + timedelta(minutes=minutes)
    diagnosis = diagnose(plant, EVIDENCE, households, weather(), now)
    weighed = weigh(diagnosis, HOME, negligible=1e-14)

    mass, total = weighed.by_cause(TOPICS)

    to_shared, to_own = by_hand(diagnosis, TOPICS)
    assert total == pytest.approx(to_shared.sum(axis=1) + to_own.sum(axis=1), abs=1e-9)
    described = diagnosis.causes[HOME].described
    to_shared *= described[: to_shared.shape[1]]
    to_own *= described[-to_own.shape[1] :]
    to_own[:, 0] = 0.0
    at = len(weighed.candidates)
    assert mass[:, at:] == pytest.approx(to_own, abs=1e-9)
    assert mass[:, :at] == pytest.approx(to_shared[:, weighed.candidates], abs=1e-9)
    others = np.delete(to_shared, weighed.candidates, axis=1)
    assert others == pytest.approx(np.zeros_like(others), abs=1e-9)


def test_answers_to_every_question_add_up_to_one(plant):
    """In every look, own state and phase of the heat (axiom of probability): the last takes the rest."""
    diagnosis = diagnose(plant, EVIDENCE, [], weather(), NOW)
    belief = diagnosis.belief
    for topic in TOPICS:
        tables = replies(belief.space, belief.homes[HOME].kind, topic).tables
        np.testing.assert_allclose(tables.sum(axis=0), 1.0, atol=1e-12)
