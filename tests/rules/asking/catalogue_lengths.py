"""Every text a tenant may get, filled in with the longest values we expect, or with usual ones."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rules.asking.questions import questions
from rules.asking.sayings import sayings
from rules.asking.wording import ask_question

__all__ = ["LONGEST", "USUAL", "every_text"]

LONGEST = {
    "en": {
        "building": "1250 Martin Luther King Blvd N",  # 30 characters, the most we send
        "reference": "T-7F3KQ",
        "by": "10:30 am tomorrow",
        "minutes": "150",
        "setting": "73 F",
        "what": "no hot water, heater cold, whole home",
        "code": "123456",
        "news": "the pump is out. We fit a new one at noon.",
    }
}
LONGEST["es"] = LONGEST["en"] | {
    "by": "el miércoles a las 10:30 am",
    "what": "no hay agua caliente, radiador frío, toda la casa",
    "news": "no anda la bomba. A las doce ponemos otra.",
}
# A street with a number, as most houses have: for how plain a text is, not for its length.
USUAL = {language: row | {"building": "9 Oak Street"} for language, row in LONGEST.items()}


def every_text(
    language: str, values: Mapping[str, Mapping[str, str]] = LONGEST
) -> Iterator[tuple[str, str]]:
    """(key, text) of all sayings and questions in one language."""
    for key, row in sayings().items():
        yield key, getattr(row, language).format(**values[language])
    for question in questions().values():
        for name, wording in (("", question.asks), (".again", question.again)):
            sentence = wording.in_language(language)
            yield f"{question.id}{name}", ask_question(question, language, sentence).text
        for name, other in (
            ("pipe", question.pipe),
            ("bare", question.no_thermostat),
            ("bare_again", question.no_thermostat_again),
        ):
            if other:
                sentence = other.in_language(language)
                yield f"{question.id}.{name}", ask_question(question, language, sentence).text
