"""What we understood, said back in one text before the questions end.

Theory of operation
-------------------
Only what is in the table is read back, most telling first: what is wrong, where, since when, how it
feels. One thing alone is not worth a question. When the text gets too long for one segment the time
is left out, then the last things are, never the question itself. After five questions it is said
without asking.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from rules.asking.meant import numbers_told
from rules.asking.questions import Wording, question
from rules.asking.sayings import degrees, say
from rules.asking.turns import READ_BACK, Say
from rules.asking.wording import ask_question, fits_one_text, pack
from rules.data import table
from rules.model import Answered, Fact, Kind, Noise, Reported

__all__ = ["LEAST", "read_back", "said_back", "understood"]

LEAST = 2  # with fewer things understood there is nothing to get wrong

# The noises of a first text, as the answer that means the same.
_NOISE_MEANS = {
    Noise.BANG: "bang_repeat",
    Noise.GURGLE: "gurgle",
    Noise.TICK: "tick",
    Noise.HUM: "hum",
    Noise.HISS: "hiss",
    Noise.RUMBLE: "rumble",
}


def understood(kinds: Collection[Kind], facts: Sequence[Fact]) -> tuple[Wording, ...]:
    """What is known of a complaint, in words, most telling first; the last word on each counts."""
    rows, answers = table("read_back"), _answers(facts)
    said = [_wording(row) for kind, row in rows["kinds"].items() if kind in set(kinds)]
    said += [
        _wording(by_means[answers[topic]])
        for topic, by_means in rows["answers"].items()
        if answers.get(topic) in by_means and _is_about(topic, kinds)
    ]
    for name, value in zip(("room", "set"), numbers_told(facts), strict=True):
        if value is not None:
            row = rows["numbers"][name]
            said.append(_wording({k: row[k].format(number=degrees(value)) for k in ("en", "es")}))
    return tuple(dict.fromkeys(said))


def read_back(
    things: tuple[Wording, ...], by: str, language: str, *, again: bool = False
) -> Say | None:
    """The text that says it back and asks whether it is right; None when there is too little."""
    asked = question(READ_BACK)
    wording = asked.again if again else asked.asks
    out = ask_question(asked, language, wording.in_language(language))
    for count in range(len(things), LEAST - 1, -1):
        what = ", ".join(t.in_language(language) for t in things[:count])
        have = say("read_back", language, what=what)
        for lead in ((have, by), (have,)):
            texts = pack(tuple(filter(None, lead)), out)
            if len(texts) == 1 and fits_one_text(texts[0].text):
                return texts[0]
    return None


def said_back(things: tuple[Wording, ...], language: str) -> str | None:
    """What we understood as a sentence that asks nothing; None when there is too little."""
    for count in range(len(things), LEAST - 1, -1):
        what = ", ".join(t.in_language(language) for t in things[:count])
        text = say("read_back_told", language, what=what)
        if fits_one_text(text):
            return text
    return None


def _answers(facts: Sequence[Fact]) -> dict[str, str]:
    """What each topic was answered last; a noise told in passing answers what it sounds like."""
    answers: dict[str, str] = {}
    for fact in facts:
        if isinstance(fact, Answered):
            answers[fact.topic] = fact.means
        elif isinstance(fact, Reported) and fact.noise in _NOISE_MEANS:
            answers["q_noise"] = _NOISE_MEANS[fact.noise]
    return answers


def _is_about(topic: str, kinds: Collection[Kind]) -> bool:
    """Where it leaks "in the living room" is no "some rooms"."""
    about = question(topic).about
    return not kinds or not about or not about.isdisjoint(kinds)


def _wording(row: Mapping[str, Any]) -> Wording:
    return Wording(str(row["en"]), str(row["es"]))
