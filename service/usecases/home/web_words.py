"""The sentences of the tenant's page, from one table, in the language of the page."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from rules.asking.danger_reply import danger_reply
from rules.data import table

__all__ = [
    "LANGUAGES",
    "danger_labels",
    "danger_says",
    "danger_steps",
    "is_first_aid",
    "kind_labels",
    "kind_says",
    "page_words",
    "saying",
]

LANGUAGES = ("en", "es")
FIRST_AID = frozenset({"scald", "hypothermia"})


@cache
def page_words(language: str) -> Mapping[str, str]:
    """Every sentence of the pages by its key."""
    rows = table("home_page")["page"]
    return MappingProxyType({key: str(row[_known(language)]) for key, row in rows.items()})


def saying(key: str, language: str) -> str:
    """The text that a button stands for, such as "It is fixed now."."""
    return str(table("home_page")["says"][key][_known(language)])


def kind_labels(language: str) -> tuple[tuple[str, str], ...]:
    """What can be ticked: (kind, words)."""
    return _column("kinds", "label", language)


def kind_says(kinds: tuple[str, ...], language: str) -> str:
    """The sentences that what was ticked stands for."""
    return " ".join(words for kind, words in _column("kinds", "says", language) if kind in kinds)


def danger_labels(language: str) -> tuple[tuple[str, str], ...]:
    """The dangers that can be told by one press: (danger, words)."""
    return _column("dangers", "label", language)


def danger_says(danger: str, language: str) -> str:
    """The text that the press stands for; empty for a danger that is not offered."""
    return dict(_column("dangers", "says", language)).get(danger, "")


def danger_steps(dangers: tuple[str, ...], language: str) -> tuple[str, ...]:
    """What to do, one sentence each; the same words as by text message."""
    reply = danger_reply(dangers, _known(language))
    return tuple(f"{step.rstrip('.')}." for step in reply.split(". ") if step)


def is_first_aid(dangers: tuple[str, ...]) -> bool:
    """Whether the first thing is to help a person rather than to leave."""
    return bool(dangers) and set(dangers) <= FIRST_AID


def _column(group: str, part: str, language: str) -> tuple[tuple[str, str], ...]:
    rows = table("home_page")[group]
    return tuple((key, str(row[part][_known(language)])) for key, row in rows.items())


def _known(language: str) -> str:
    return language if language in LANGUAGES else LANGUAGES[0]
