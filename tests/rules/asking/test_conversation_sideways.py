"""Texts beside the point, sympathy, and what counts after a repair: each as one step."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oak_street import ASKED_HOT, HOME, at, knowing, words_of

from rules.asking.conversation import Conversation, Heard, State, step
from rules.asking.sayings import say
from rules.asking.troubles import is_unnamed
from rules.model import Answered, ApartmentId, Kind, RoomRead, TopicId

AT_HOME = ApartmentId("3B")
JUDGING = at(State.CLOSED, current=TopicId("right_now"))
NOTHING_OPEN = knowing(reference="", kinds=frozenset())


@pytest.mark.parametrize(
    ("kinds", "facts", "unnamed"),
    [
        ((), (), True),
        ((Kind.OTHER,), (), True),
        ((Kind.OTHER, Kind.NOISE), (), False),
        ((Kind.OTHER,), (Answered(AT_HOME, TopicId("q_screen"), "blank"),), False),
        ((Kind.OTHER,), (Answered(AT_HOME, TopicId("q_screen"), "normal"),), True),
        ((), (RoomRead(AT_HOME, 72.0, None),), True),
    ],
)
def test_what_names_the_trouble(
    kinds: tuple[Kind, ...], facts: tuple[Answered | RoomRead, ...], unnamed: bool
) -> None:
    """A kind does, and a screen that is blank; a number or a screen as usual does not."""
    assert is_unnamed(kinds, facts) is unnamed


@pytest.mark.parametrize(
    "kind", [Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.LEAK, Kind.NOISE]
)
def test_the_first_text_is_sorry(kind: Kind) -> None:
    """One short word for each trouble, in the same number of texts as without."""
    knows = knowing(kinds=frozenset({kind}), next_question="q_rooms")
    sorry = say(f"sorry_{kind.value}", "en")
    assert sorry in words_of(step(Conversation(), Heard.COMPLAINT, knows))
    assert sorry not in words_of(step(ASKED_HOT, Heard.COMPLAINT, knows))


def test_sympathy_costs_no_text() -> None:
    """Where it would not fit it is left out."""
    long_name = knowing(
        kinds=frozenset({Kind.TOO_HOT}),
        building_name="1250 Martin Luther King Blvd N",
        next_question="q_hot",
    )
    result = step(Conversation(), Heard.COMPLAINT, long_name)
    assert len(result.says) == 1
    assert say("sorry_too_hot", "en") not in words_of(result)


@pytest.mark.parametrize(
    ("event", "key"), [(Heard.PLEA, "plea"), (Heard.SLIP, "slip"), (Heard.ASIDE, "picture")]
)
def test_a_question_that_is_out_stays_out(event: Heard, key: str) -> None:
    """It is put again and does not count as not understood."""
    result = step(ASKED_HOT, event, knowing(asides=("picture",)))
    assert say(key, "en") in words_of(result)
    assert result.conversation == ASKED_HOT
    assert result.says[-1].asks is not None


def test_a_picture_from_nowhere_is_asked_what_is_wrong() -> None:
    """Said that nobody sees it, then the choices."""
    result = step(Conversation(home=HOME), Heard.ASIDE, replace(NOTHING_OPEN, asides=("picture",)))
    assert result.conversation.state is State.WHAT
    assert say("picture", "en") in words_of(result)
    assert "What is wrong?" in words_of(result)


def test_a_known_report_is_not_greeted_again() -> None:
    """After silence, more of an open report goes on with it; a new one is greeted."""
    closed = at(State.CLOSED, asked=("q_hot",))
    more = step(closed, Heard.COMPLAINT, knowing(next_question="q_rooms"))
    assert words_of(more).startswith("Thank you. We added this to your report")
    new = step(closed, Heard.COMPLAINT, knowing(next_question="q_rooms", opened=True))
    assert words_of(new).startswith("Heat line, 12 Oak St.")


@pytest.mark.parametrize("event", [Heard.OTHER, Heard.STATUS, Heard.UNREADABLE])
def test_after_a_repair_it_is_asked_whether_it_helped(event: Heard) -> None:
    """Not "what is wrong?", nor that nothing is open."""
    result = step(JUDGING, event, NOTHING_OPEN)
    assert result.conversation.state is State.REPAIRED
    assert result.says[-1].asks is not None
    assert result.says[-1].asks.topic == "right_now"


def test_the_second_failed_repair_is_a_persons() -> None:
    """Once more the questions, then a person, and nothing is asked any more."""
    repaired = at(State.REPAIRED, current=TopicId("right_now"))
    first = step(
        repaired, Heard.ANSWER, knowing(answer="no", failed_repairs=1, next_question="q_hot")
    )
    assert (first.reopen, first.hand_to_person) == (True, False)
    assert first.says[-1].asks is not None
    second = step(
        repaired, Heard.ANSWER, knowing(answer="no", failed_repairs=2, next_question="q_hot")
    )
    assert (second.reopen, second.hand_to_person) == (True, True)
    assert second.says[-1].asks is None
    assert "We told a person here" in words_of(second)


def test_news_in_place_of_an_address_is_noted() -> None:
    """Asked where they live, somebody tells more: the question is put again, as often as it takes."""
    c = Conversation(state=State.PLACE, current=TopicId("place"))
    for _ in range(3):
        result = step(c, Heard.COMPLAINT, knowing(homes=()))
        c = result.conversation
        assert c.state is State.PLACE
        assert say("noted_short", "en") in words_of(result)
        assert "could not find" not in words_of(result)
