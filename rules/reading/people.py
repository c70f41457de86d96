"""Who in the home is at more risk: babies, children, the old, the pregnant, the ill."""

from __future__ import annotations

from collections.abc import Sequence

from rules.model import Care
from rules.reading.line import Found, Line
from rules.reading.phrases import Section, section
from rules.reading.scope import is_negated
from rules.reading.seen import Span
from rules.reading.words import Words

__all__ = ["people_in"]

_OLD_YEARS = 65
_GROWN_YEARS = 18
_INFANT_YEARS = 2
_LONGEST_LIFE_YEARS = 115


def people_in(words: Words, *, gassed: bool = False, endangered: bool = False) -> dict[Care, Span]:
    """The care flags a text gives rise to, each with the words that say so.

    Where people have just been ``gassed``, "sick" tells of that and not of a chronic illness. A
    neighbor who is ``endangered`` counts as one of the home does.
    """
    seen = section("people")
    line = seen.line(words)
    if not line.may_say_anything():
        return {}
    away = line.find(seen["not_here"])
    if not endangered:
        away += line.find(seen["next_door"])
    if gassed:
        away += line.find(seen["just_ill"])
    told: dict[Care, Found] = {}
    for care in Care:
        found = next((f for f in seen.standing(line, care.value) if _is_here(line, f, away)), None)
        if found is not None:
            told[care] = found
    ages = _ages(seen, line, words, away)
    _by_age(line, words, ages, told)
    if not any(_INFANT_YEARS <= years < _GROWN_YEARS for years, _ in ages):
        _drop_child_that_is_the_infant(seen, line, words, told)
    return {
        care: Span(words[told[care].first].start, words[told[care].last].end, f"care:{care.value}")
        for care in Care
        if care in told
    }


def _drop_child_that_is_the_infant(
    seen: Section, line: Line, words: Words, told: dict[Care, Found]
) -> None:
    """ "My son is 8 months old" is one infant, not an infant and a child."""
    infant, child = told.get(Care.INFANT), told.get(Care.CHILD)
    if infant is None or child is None or not _tells_age(words, infant):
        return
    if abs(infant.first - child.last) <= 4 and len(seen.standing(line, "child")) == 1:
        del told[Care.CHILD]


def _tells_age(words: Words, infant: Found) -> bool:
    """ "8 months", "a year and a half", "ano y medio"."""
    said = {word.text for word in words[infant.first : infant.last + 1]}
    return _number_in(words, infant) is not None or bool(said & {"half", "medio"})


def _is_here(line: Line, found: Found, away: Sequence[Found]) -> bool:
    if is_negated(line, found):
        return False
    return not any(map(found.meets, away))


def _by_age(
    line: Line,
    words: Words,
    ages: Sequence[tuple[float, Found]],
    told: dict[Care, Found],
) -> None:
    for years, found in ages:
        care = _care_of(years)
        if care is not None:
            told.setdefault(care, found)
    youngest = min((years for years, _ in ages), default=None)
    if youngest is None:
        return
    # An age outranks the word: a "baby" of four is a child, a "son" of thirty is neither.
    if youngest >= _INFANT_YEARS and Care.INFANT in told and not _is_said(line, words, told):
        told.setdefault(Care.CHILD, told.pop(Care.INFANT))
    grown = [found for years, found in ages if _GROWN_YEARS <= years < _OLD_YEARS]
    near = grown and Care.CHILD in told and abs(grown[0].first - told[Care.CHILD].last) <= 4
    if near and youngest >= _GROWN_YEARS:
        del told[Care.CHILD]


def _is_said(line: Line, words: Words, told: dict[Care, Found]) -> bool:
    """Whether an infant is said by age in months, or is somebody else than the one of that age."""
    infant = told[Care.INFANT]
    if infant.last > infant.first:
        return True
    clause = line.clause(infant.first)
    return not any(
        words[line.groups[group][0]].value is not None
        for group in clause
        if abs(group - line.group_of(infant.first)) <= 4
    )


def _ages(
    seen: Section, line: Line, words: Words, away: Sequence[Found]
) -> list[tuple[float, Found]]:
    back = [*away, *line.find(seen["age_not"])]
    found: dict[int, tuple[float, Found]] = {}
    for phrase in (*line.find(seen["age_old"]), *line.find(seen["age_young"])):
        number = _number_in(words, phrase)
        if number is None or any(b.first <= number <= b.last for b in back):
            continue
        if number + 1 < len(words) and words[number + 1].glued:
            continue  # "Im 3D" tells a door.
        years = words[number].value
        if years is not None and 0 <= years <= _LONGEST_LIFE_YEARS:
            found.setdefault(number, (years, phrase))
    return list(found.values())


def _number_in(words: Words, phrase: Found) -> int | None:
    return next(
        (i for i in range(phrase.first, phrase.last + 1) if words[i].value is not None), None
    )


def _care_of(years: float) -> Care | None:
    if years < _INFANT_YEARS:
        return Care.INFANT
    if years < _GROWN_YEARS:
        return Care.CHILD
    return Care.OVER65 if years >= _OLD_YEARS else None
