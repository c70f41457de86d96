"""What a household is told to put right itself; common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oak_street import HOME, at, knowing, words_of

from rules.asking.conversation import Conversation, Heard, State, Step, step
from rules.model import Answered, ApartmentId, Kind, TopicId

NEXT = "q_rooms"
ASKS = "Is it the whole home"
HELP = {
    ("q_mode", "off"): "set the thermostat to HEAT",
    ("q_mode", "cool"): "set the thermostat to HEAT",
    ("q_mode", "schedule"): "press HOLD",
    ("q_mode", "hold"): "press HOLD",
    ("q_screen", "blank"): "new batteries",
    ("q_screen", "low_battery"): "new batteries",
    ("q_window", "open"): "shut the window",
    ("q_block", "blocked"): "move it away",
}


def _facts(*told: tuple[str, str]) -> tuple[Answered, ...]:
    home = ApartmentId(HOME[1])
    return tuple(Answered(home, TopicId(topic), means) for topic, means in told)


def _told(*told: tuple[str, str], asked: str = "q_hot", **more: object) -> Step:
    """What follows when a household has answered, and has told these things."""
    conversation = at(State.ASKING, current=asked, asked=(asked,))
    known = {"facts": _facts(*told), "next_question": NEXT, "batteries": True, **more}
    return step(conversation, Heard.ANSWER, knowing(answer=told[-1][1], **known))


@pytest.mark.parametrize(("told", "help_with"), list(HELP.items()))
def test_what_can_be_put_right_is_said_before_the_next_question(
    told: tuple[str, str], help_with: str
) -> None:
    """The thermostat is off: set it to HEAT. What is asked next is asked all the same."""
    words = words_of(_told(told, asked=told[0]))
    assert help_with in words
    assert words.index(help_with) < words.index(ASKS)


@pytest.mark.parametrize(("told", "help_with"), list(HELP.items()))
def test_what_the_first_text_tells_is_helped_with_too(
    told: tuple[str, str], help_with: str
) -> None:
    """ "The thermostat says OFF and I am freezing": nobody has to be asked for it first."""
    known = knowing(facts=_facts(told), next_question=NEXT, batteries=True, opened=True)
    result = step(Conversation(), Heard.COMPLAINT, known)
    assert help_with in words_of(result)
    assert len(result.says) <= 2
    assert result.says[-1].asks is not None


@pytest.mark.parametrize(
    ("state", "event", "current"),
    [(State.ASKING, Heard.COMPLAINT, "q_rooms"), (State.TOLD, Heard.COMPLAINT, None)],
)
def test_what_is_told_later_is_helped_with(state: State, event: Heard, current: str | None) -> None:
    """ "A window won't close" in place of an answer, or after all questions."""
    told = at(state, current=current, asked=("q_rooms",))
    known = knowing(facts=_facts(("q_window", "open")), told_more=True)
    assert "shut the window" in words_of(step(told, event, known))


def test_help_is_said_once() -> None:
    """The next answer brings no more of it; the next report would."""
    first = _told(("q_window", "open"))
    again = step(
        replace(first.conversation, current="q_rooms"),
        Heard.ANSWER,
        knowing(facts=_facts(("q_window", "open")), answer="all"),
    )
    assert "shut the window" in words_of(first)
    assert "shut the window" not in words_of(again)


@pytest.mark.parametrize(
    ("topic", "answer"), [("q_mode", "heat"), ("q_screen", "normal"), ("q_window", "closed")]
)
def test_nothing_is_suggested_where_nothing_is_wrong(topic: str, answer: str) -> None:
    """A thermostat on HEAT needs no advice."""
    assert words_of(_told((topic, answer))) == words_of(_told(("q_block", "clear")))


@pytest.mark.parametrize(
    "told",
    [
        (("q_screen", "blank"), ("q_batteries", "changed")),
        (("q_mode", "off"), ("q_mode", "heat")),
        (("q_window", "open"), ("q_window", "closed")),
    ],
)
def test_whoever_has_done_it_is_not_told_to(told: tuple[tuple[str, str], ...]) -> None:
    """New batteries are in and the screen is still dark: more batteries help nobody."""
    assert words_of(_told(*told)) == words_of(_told(("q_block", "clear")))


def test_nobody_changes_batteries_that_are_not_there() -> None:
    """A wired thermostat with a dark screen has lost its power; that is the technician's."""
    assert "batteries" not in words_of(_told(("q_screen", "blank"), batteries=False))


def test_a_hot_home_keeps_its_window_open() -> None:
    """Too hot with a window open: the window helps."""
    hot = frozenset({Kind.TOO_HOT})
    assert "window" not in words_of(_told(("q_window", "open"), kinds=hot))


@pytest.mark.parametrize("why", [{"known_to_us": True}, {"danger_open": ("gas",)}])
def test_no_help_where_it_cannot_help(why: dict[str, object]) -> None:
    """Three other homes are cold as well, or somebody had to leave: the window is not it."""
    assert "window" not in words_of(_told(("q_window", "open"), **why))


@pytest.mark.parametrize(
    ("room_f", "set_f", "said"),
    [(None, None, True), (60, 62, True), (None, 72, False), (61, 72, False), (72, 72, True)],
)
def test_a_hold_is_in_the_way_only_where_it_holds_too_little(
    room_f: float | None, set_f: float | None, *, said: bool
) -> None:
    """Set to 72 at 61 in the room, no hold is what keeps it cold."""
    words = words_of(_told(("q_mode", "hold"), room_f=room_f, set_f=set_f))
    assert ("press HOLD" in words) is said


@pytest.mark.parametrize(("room_f", "said"), [(62.0, True), (63.0, True), (58.0, False)])
def test_whoever_gets_what_is_set_may_set_it_higher(room_f: float, *, said: bool) -> None:
    """62 in the room with 62 set: nothing is broken."""
    words = words_of(_told(("q_block", "clear"), room_f=room_f, set_f=62.0))
    assert ("a bit higher" in words) is said


@pytest.mark.parametrize(
    ("room_f", "set_f", "said"),
    [
        (84, 84, True),
        (85, 84, True),
        (None, 80, True),
        (84, 70, False),
        (88, 80, False),
        (84, None, False),
    ],
)
def test_whoever_is_hot_by_the_setting_is_told_to_set_it_lower(
    room_f: float | None, set_f: float | None, *, said: bool
) -> None:
    """84 with 84 set: nothing is broken; 84 with 70 set is a valve that does not close."""
    hot = frozenset({Kind.TOO_HOT})
    words = words_of(_told(("q_start", "days"), kinds=hot, room_f=room_f, set_f=set_f))
    assert ("lower, to about 70 F" in words) is said
    check = _told(
        ("q_start", "days"), kinds=hot, room_f=room_f, set_f=set_f, next_question="q_down"
    )
    assert "to about 70 F" not in words_of(check)


def test_what_a_check_has_them_do_anyway_is_said_after_it() -> None:
    """ "Set it 5 degrees over what it shows" comes first; where that helps, it is to stay so."""
    on_hold = ("q_mode", "hold")
    check = _told(on_hold, next_question="q_up")
    assert "press HOLD" not in words_of(check)
    warms = replace(check.conversation, state=State.ASKING)
    known = knowing(facts=_facts(on_hold, ("q_up", "warms")), answer="warms")
    assert "press HOLD" in words_of(step(warms, Heard.ANSWER, known))
