"""What a household can put right itself, said as soon as it tells of it.

Theory of operation
-------------------
About half of the visits to one cold home end at a setting or a battery (common practice, no source).
Only what needs no tool is suggested, to a home that is too cold, or tells of nothing but a thermostat
that is off or dark: set it to HEAT, set it higher, put new batteries in, shut the window, move what
stands before the radiator. A home that is too hot and gets no more than is set is told to set it lower,
to what is over the floor of every heat law. What the household has told last counts: whoever has put
new batteries in is not told to. Each is said once a report, whether it was asked for or told unasked,
and to nobody whose neighbors have reported the same. Whose tap water scalds is told how not to be burnt,
and where water runs, not drips, when to leave and what to put there, neighbors or not. The questions
and the ticket go on as if nothing had been said, until the household tells that it is warm.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from rules.asking.sayings import say
from rules.asking.turns import Conversation, Situation
from rules.model import Answered, Fact, Kind, TopicId

__all__ = ["answers_in", "help_with", "helps"]

_WRONG_ANYWAY = frozenset({"help_mode", "help_batteries"})
_BATTERIES, _HIGHER, _UP, _LOWER = "help_batteries", "help_hold", "help_set", "help_lower"
_HELP: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("q_mode", "off"): "help_mode",
        ("q_mode", "cool"): "help_mode",
        ("q_mode", "schedule"): _HIGHER,
        ("q_mode", "hold"): _HIGHER,
        ("q_screen", "blank"): _BATTERIES,
        ("q_screen", "low_battery"): _BATTERIES,
        ("q_window", "open"): "help_window",
        ("q_block", "blocked"): "help_block",
    }
)
# What is no help but care: not to be burnt, and not to stand in water.
_CARE: Mapping[tuple[str, str], tuple[str, ...]] = MappingProxyType(
    {
        ("q_dhw", "too_hot"): ("care_tap",),
        ("q_leak", "stream"): ("safety_water", "care_leak"),
    }
)

# Whoever has asked for so much does not lack it for want of asking: heat laws ask for 68 by day
# (rules/data/heat_laws.yaml).
_ENOUGH_F = 68.0
# Whoever is too hot at less than this is not so for the setting; a room may be so much over it (common
# practice, no source).
_HOT_SETTING_F, _OVER_F = 73.0, 2.0

# What a check has them do at the thermostat anyway.
_DONE_IN: Mapping[TopicId | None, tuple[str, ...]] = MappingProxyType(
    {TopicId("q_up"): (_HIGHER, _UP), TopicId("q_down"): (_LOWER,)}
)


def helps(
    c: Conversation, s: Situation, lead: Iterable[str], *, doing: TopicId | None = None
) -> tuple[Conversation, tuple[str, ...]]:
    """The lead with a sentence for each thing to put right that was not said before; often none.

    ``doing`` is the check that is the next thing said, or that runs.
    """
    if s.danger_open or s.on_page:
        return c, tuple(lead)
    answers, later = answers_in(s.facts), _DONE_IN.get(doing, ())
    keys = (*_care(answers), *(() if s.known_to_us else _keys(answers, s)))
    new = [k for k in keys if k not in (*c.helped, *later)]
    before = tuple(lead)
    said = (sentence for key in new if (sentence := say(key, c.language)) not in before)
    return replace(c, helped=(*c.helped, *new)), (*before, *said)


def help_with(facts: Iterable[Fact], s: Situation, language: str) -> tuple[str, ...]:
    """A sentence for each thing among these facts that the household can do something about."""
    answers = answers_in(facts)
    return tuple(say(key, language) for key in (*_care(answers), *_keys(answers, s)))


def answers_in(facts: Iterable[Fact]) -> dict[str, str]:
    """What each topic was answered last."""
    return {fact.topic: fact.means for fact in facts if isinstance(fact, Answered)}


def _care(answers: Mapping[str, str]) -> list[str]:
    return [key for answer, keys in _CARE.items() if answer in answers.items() for key in keys]


def _keys(answers: Mapping[str, str], s: Situation) -> list[str]:
    """Which sentences, in the order in which the answers were given."""
    keys = [_HELP[answer] for answer in answers.items() if answer in _HELP]
    keys += [_UP] if _is_as_asked(s) and _HIGHER not in keys else []
    if Kind.TOO_HOT in s.kinds and Kind.TOO_COLD not in s.kinds:
        return [_LOWER] if _is_set_hot(s) else []
    if Kind.TOO_COLD not in s.kinds:
        # Nobody has named a trouble: a thermostat that is off or dark is one all the same.
        keys = [k for k in keys if k in _WRONG_ANYWAY and s.kinds <= {Kind.OTHER}]
    useless = {
        _BATTERIES: not s.batteries or answers.get("q_batteries") == "changed",
        _HIGHER: s.set_f is not None and s.set_f >= _ENOUGH_F and not _is_as_asked(s),
    }
    return [key for key in dict.fromkeys(keys) if not useless.get(key)]


def _is_set_hot(s: Situation) -> bool:
    """Whether the thermostat is set high, and the room is not much over that, as far as is known."""
    if s.set_f is None or s.set_f < _HOT_SETTING_F:
        return False
    return s.room_f is None or s.room_f <= s.set_f + _OVER_F


def _is_as_asked(s: Situation) -> bool:
    """Whether the room has all the heat that the thermostat is set to."""
    return s.room_f is not None and s.set_f is not None and s.room_f >= s.set_f
