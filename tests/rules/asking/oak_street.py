"""A home on Oak Street that is cold, and what is made of it in tests of the conversation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from rules.asking.conversation import Conversation, Situation, State, Step
from rules.model import Kind

HOME = ("oak-12", "3B")
OTHER_HOME = ("oak-12", "1A")
COLD = Situation(
    building_name="12 Oak St",
    homes=(HOME,),
    reference="T-7F3K",
    respond_by_text="7 pm today",
    emitter="fin_tube",
    kinds=frozenset({Kind.TOO_COLD}),
)


def at(state: State, **changes: Any) -> Conversation:
    """The conversation with that home."""
    return replace(Conversation(state=state, home=HOME), **changes)


def knowing(**changes: Any) -> Situation:
    """The situation, with something otherwise."""
    return replace(COLD, **changes)


def words_of(result: Step) -> str:
    """All that is said."""
    return " | ".join(say.text for say in result.says)


ASKED_HOT = at(State.ASKING, current="q_hot", asked=("q_hot",))
CHECKING = at(State.WAITING, current="q_down", asked=("q_down",))
