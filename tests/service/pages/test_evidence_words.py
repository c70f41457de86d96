"""Evidence in words: what is shown first, and no ids of questions, checks and outcomes."""

from __future__ import annotations

from service.pages.evidence import first_words
from service.pages.why_words import why_words
from service.usecases.rows.views import WhyLine

GAS = "huele a gas en el pasillo"
COLD = "no heat up here on 6, pls send someone"


def line(says: str, weight: float, quote: str | None, fault: str = "gas_leak") -> WhyLine:
    """A piece of evidence; invented."""
    return WhyLine(says, "m_1", fault, weight, quote, "en")


def test_texts_stand_once_and_the_strongest_first() -> None:
    """One text is evidence for many suspects."""
    why = (
        line("6B reports too cold", 0.4, COLD),
        line("3F reports gas smell", 8.1, GAS),
        line("3F reports gas smell", 7.0, GAS, "another"),
    )
    assert [text for text, _ in first_words(why, ("3F", "6B"))] == [GAS, COLD]


def test_what_homes_of_other_tickets_wrote_is_not_this_tickets_word() -> None:
    """It may speak against a suspect all the same."""
    why = (line("2E reports noise", -0.2, "gurgling in the pipes all night"),)
    assert first_words(why, ("3F",)) == ()


def test_a_bare_answer_tells_nothing_by_itself() -> None:
    """A number stands among the readings."""
    assert first_words((line("2C reads 84 F", 1.1, "84"),), ("2C",)) == ()


def test_a_reading_reads_as_a_technician_would_say_it() -> None:
    """The names that programs use have underscores; people's have none."""
    assert why_words("pump_feel at pump-high: silent_cold") == (
        "hand on the pump at pump-high: silent and cold"
    )
    assert why_words("motor_volts at 2B.valve not calling: 25 V") == (
        "motor volts at valve of 2B: 25 V, not calling"
    )


def test_an_answer_names_what_was_asked() -> None:
    """Beside what else the home has told."""
    said = why_words("2A reports too cold; 2A answers q_dhw: normal")
    assert said == "2A reports too cold; 2A, asked about hot water: normal"
