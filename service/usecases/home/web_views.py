"""What an apartment's page holds, before it is put into words and forms."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["AskView", "CheckView", "HomeView", "Stage"]

Stage = Literal["start", "ask", "check", "stands", "pending"]


@dataclass(frozen=True, slots=True)
class AskView:
    """One question; a question without choices asks for a temperature."""

    topic: str
    sentence: str
    choices: tuple[tuple[str, str], ...]  # what is sent, what is shown
    again: bool


@dataclass(frozen=True, slots=True)
class CheckView:
    """Something to do at the thermostat, and when to come back."""

    topic: str
    down: bool
    pipe: bool
    time: str  # empty when the time is up


@dataclass(frozen=True, slots=True)
class HomeView:
    """One apartment's page."""

    stage: Stage
    is_open: bool = False
    just_told: bool = False
    reference: str = ""
    by: str = ""
    known: bool = False
    person: bool = False
    reachable: bool = False  # somebody left a number
    danger: tuple[str, ...] = ()
    alarmed: bool = False  # a danger was told and is still being read
    told: tuple[str, ...] = ()  # what we understood, most telling first
    helps: tuple[str, ...] = ()  # what the household can put right itself
    undo: bool = False  # there is an answer that can be taken back
    photo: bool = False
    news: str = ""  # what the desk has told the building or the homes of the ticket
    ended: str = ""  # how the last report ended
    over: str = ""  # that the danger was none, and who found so
    ask: AskView | None = None
    check: CheckView | None = None
