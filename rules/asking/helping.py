"""What a household can put right itself, said as soon as it tells of it.

Theory of operation
-------------------
About half of the visits to one cold home end at a setting or a battery (common practice, no source).
Only what needs no tool is suggested, and only to a home that is too cold: set it to HEAT, put new
batteries in, shut the window, move what stands before the radiator. The questions and the ticket go on
as if nothing had been said, until the household tells that it is warm.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType

from rules.asking.sayings import say
from rules.asking.turns import Conversation, Situation
from rules.model import Kind

__all__ = ["help_for", "help_with"]

_BATTERIES = "help_batteries"
_HELP: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("q_mode", "off"): "help_mode",
        ("q_mode", "cool"): "help_mode",
        ("q_screen", "blank"): _BATTERIES,
        ("q_screen", "low_battery"): _BATTERIES,
        ("q_window", "open"): "help_window",
        ("q_block", "blocked"): "help_block",
    }
)


def help_for(c: Conversation, s: Situation) -> tuple[str, ...]:
    """A sentence for whoever has just answered that something is not as it should be; often none."""
    answer = (c.current or "", s.answer or "")
    return help_with([answer], s.kinds, batteries=s.batteries, language=c.language)


def help_with(
    answers: Iterable[tuple[str, str]], kinds: Collection[Kind], *, batteries: bool, language: str
) -> tuple[str, ...]:
    """A sentence for each of these answers (topic, meaning) that the household can do something about.

    ``batteries`` is whether its thermostat runs on them.
    """
    if Kind.TOO_COLD not in kinds:
        return ()
    keys = dict.fromkeys(_HELP[answer] for answer in answers if answer in _HELP)
    return tuple(say(key, language) for key in keys if batteries or key != _BATTERIES)
