"""What an answer alone tells of whether something is wrong."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType

from rules.model import Answered, Fact, Kind, TopicId

__all__ = ["goes_on", "is_blank", "is_unnamed", "names_trouble"]

_SCREEN = TopicId("q_screen")

# What tells without a kind what is wrong: answers whose meaning alone is a trouble.
_TROUBLES: Mapping[str, frozenset[str]] = {
    _SCREEN: frozenset({"blank", "low_battery"}),
    "q_dhw": frozenset({"too_hot"}),
}

# What cannot be told of a home where all is well, though it does not say what is wrong there.
_GOES_ON: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        **_TROUBLES,
        "q_mode": frozenset({"off", "cool"}),
        "q_neigh": frozenset({"yes"}),
        "q_up": frozenset({"stays_cold"}),
        "q_down": frozenset({"still_hot"}),
        "q_onoff": frozenset({"never", "steady_weak"}),
    }
)


# What a household has done, or how something stands; neither says that it has helped.
_DONE = frozenset({"q_batteries", "q_mode", "q_window", "q_block"})


def goes_on(answers: Iterable[tuple[str, str]]) -> bool:
    """Whether one of these (topic, meaning) says that something is wrong, or only what was done."""
    return any(topic in _DONE or means in _GOES_ON.get(topic, ()) for topic, means in answers)


def is_unnamed(kinds: Collection[Kind], facts: Iterable[Fact]) -> bool:
    """Whether nobody has said yet what is wrong: "the thermostat acts weird", but not "it is blank"."""
    if set(kinds) - {Kind.OTHER}:
        return False
    return not any(map(names_trouble, facts))


def names_trouble(fact: Fact) -> bool:
    """Whether an answer says by itself what is wrong."""
    return isinstance(fact, Answered) and fact.means in _TROUBLES.get(fact.topic, ())


def is_blank(facts: Iterable[Fact]) -> bool:
    """Whether the household has told that the screen shows nothing: nobody can read or set it."""
    told = [f.means for f in facts if isinstance(f, Answered) and f.topic == _SCREEN]
    return told[-1:] == ["blank"]
