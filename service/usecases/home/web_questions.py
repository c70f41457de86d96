"""The question or check on an apartment's page, and the text that an answer there stands for."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.asks import wording_of
from rules.asking.conversation import READ_BACK, RIGHT_NOW, Conversation, Situation
from rules.asking.questions import Question, question
from rules.model import TopicId
from rules.reading import read
from service.store.tables import TimerRow
from service.usecases.hearing.web_doors import Door
from service.usecases.home.web_views import AskView, CheckView
from service.usecases.sending.due_words import due_words

__all__ = [
    "RIGHT_NOW",
    "ask_view",
    "asks_for_change",
    "check_view",
    "choice_text",
    "means",
    "time_of_check",
]


def asks_for_change(topic: str, number: str) -> bool:
    """Whether an answer says that we understood something wrong."""
    return topic == READ_BACK and means(topic, number) == "change"


def means(topic: str, number: str) -> str:
    """What picking a choice means; empty for what is none of them."""
    choices = dict(enumerate(question(topic).choices, start=1))
    choice = choices.get(int(number)) if number.isdecimal() else None
    return choice.means if choice is not None else ""


def choice_text(topic: str, number: str, language: str) -> str:
    """The text that picking a choice stands for: its number, with its words where they add nothing."""
    labels = dict(enumerate(question(topic).choices, start=1)) if number.isdecimal() else {}
    choice = labels.get(int(number or 0)) if labels else None
    if choice is None:
        return number
    full = f"{number} {choice.label.in_language(language)}"
    found = read(full, TopicId(topic))
    same = found.answer is not None and found.answer.means == choice.means
    return full if same and not found.kinds and not found.danger_kinds else number


def ask_view(asked: Question, conversation: Conversation, known: Situation) -> AskView:
    """A question as the page asks it."""
    again = conversation.repeats > 0
    wording = wording_of(asked, known, again=again, looked=conversation.looked_only)
    language = conversation.language
    return AskView(
        topic=asked.id,
        sentence=_asked_on_page(asked, wording.in_language(language)),
        choices=tuple(
            (str(n), c.label.in_language(language)) for n, c in enumerate(asked.choices, start=1)
        ),
        again=again,
    )


def _asked_on_page(asked: Question, sentence: str) -> str:
    """A question for a number ends in how to send it, which a page shows as a box and a button."""
    return sentence[: sentence.rfind("?") + 1] or sentence if asked.number else sentence


def check_view(asked: Question, known: Situation, time: str) -> CheckView:
    """What is to be done at the thermostat, until when."""
    return CheckView(
        topic=asked.id,
        down=asked.id == "q_down",
        pipe=asked.asks_about_pipe(known.emitter),
        time=time,
    )


def time_of_check(session: Session, now: datetime, door: Door, speaker: str, language: str) -> str:
    """When the check is over, in words; empty when its time is up."""
    due = session.scalar(
        select(TimerRow.due_at)
        .where(TimerRow.number == speaker, TimerRow.purpose == "check")
        .where(TimerRow.done_at.is_(None))
        .limit(1)
    )
    return due_words(due, now, door.timezone, language) if due is not None else ""
