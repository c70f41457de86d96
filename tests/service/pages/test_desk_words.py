"""Small things that pages of the desk and the truck say."""

from __future__ import annotations

from dataclasses import replace

from made_up import NOW, desk_ticket

from rules.faults.catalogue import checks
from service.pages.desk.ready_words import READY_WORDS
from service.pages.desk.said import said_by_homes
from service.pages.repairs.askable import askable
from service.sms.segments import fold, segments
from service.usecases.rows.act_views import ConversationLine
from service.usecases.rows.repair_views import TurnHome
from service.usecases.showing.outcome_words import OUTCOME_WORDS, outcome_words


def test_every_outcome_with_words_of_its_own_is_one_of_a_check() -> None:
    """And what spaces alone would make unclear is a sentence: common practice, no source."""
    known = {word for check in checks().values() for word in (*check.outcomes, check.nothing)}
    assert OUTCOME_WORDS.keys() <= known
    assert outcome_words("motor_turns_body_still") == "the motor turns, the body stands still"
    assert outcome_words("cold_air") == "cold air"


def test_what_is_read_first_are_the_words_that_tell_something() -> None:
    """The first text and the newest; a bare number answers a question and tells nothing alone."""
    page = desk_ticket()
    first, *rest = page.conversations
    lines = (
        ConversationLine(NOW, "tenant", "no heat since noon", "en"),
        ConversationLine(NOW, "machine", "Is the radiator hot?", "en"),
        ConversationLine(NOW, "tenant", "1", None),
        ConversationLine(NOW, "tenant", "and my mother is 80", "en"),
        ConversationLine(NOW, "tenant", "2", None),
        ConversationLine(NOW, "machine", "Thank you.", "en", failed=True),
    )
    talk = replace(first, lines=lines)
    quiet = [replace(t, lines=t.lines[:1]) for t in rest]
    told = said_by_homes(desk_ticket(conversations=(*quiet, talk)))
    assert told[0].complaint == talk.complaint  # a home that was not reached comes first
    assert told[0].undelivered
    assert [w.text for w in told[0].lines] == ["no heat since noon", "and my mother is 80"]
    assert not told[1].undelivered


def test_who_is_at_risk_stands_beside_the_words_of_the_home() -> None:
    """As the dispatcher reads it; what is not known is not said."""
    page = desk_ticket()
    first = page.conversations[0].complaint
    told = {
        t.complaint: t for t in said_by_homes(replace(page, care={first: ("infant", "over65")}))
    }
    assert told[first].care == ("an infant", "somebody over 65")
    assert {t.care for c, t in told.items() if c != first} == {()}


def test_a_long_text_is_cut_at_a_word() -> None:
    """Two hundred characters are more than a glance; the whole text stands in the conversation."""
    page = desk_ticket()
    first = page.conversations[0]
    long = ConversationLine(NOW, "tenant", "cold " * 60, "en")
    talk = replace(first, lines=(long,))
    (told, *_) = said_by_homes(desk_ticket(conversations=(talk, *page.conversations[1:])))
    assert told.lines[0].text.endswith("cold …")
    assert len(told.lines[0].text) <= 182


def test_ready_words_are_one_text_in_each_language() -> None:
    """One segment of 160 GSM-7 characters (3GPP TS 23.038) is one text on the bill."""
    assert [
        name
        for name, said in READY_WORDS.items()
        if max(segments(fold(said.en)), segments(fold(said.es))) > 1
    ] == []


def test_homes_that_cannot_be_asked_share_a_line() -> None:
    """Six homes at night are one sentence; whoever was asked already keeps a place with the answer."""
    night = "It is night."
    turns = (
        TurnHome("c_1", "1A", night, None),
        TurnHome("c_2", "1B", night, "too cold outdoors"),
        TurnHome("c_3", "2A", night, None, ask=7, says=("asked",)),
        TurnHome("c_4", "2B", None, "no heat to feel"),
        TurnHome("c_5", "3A", None, None),
    )
    desk = askable(turns, at_the_valve=False)
    assert desk.cannot == ((night, ("1A", "1B")), ("no heat to feel", ("2B",)))
    assert [home.apartment for home in desk.homes] == ["2A", "3A"]
    truck = askable(turns, at_the_valve=True)
    assert [home.apartment for home in truck.homes] == ["2A", "2B", "3A"]
