"""What we understood, said back: which things, in which order, always in one text."""

from __future__ import annotations

import pytest
from catalogue_lengths import LONGEST
from hypothesis import given
from hypothesis import strategies as st

from rules.asking.questions import questions
from rules.asking.read_back import read_back, said_back, understood
from rules.asking.sayings import say
from rules.asking.wording import fits_one_text, septets
from rules.data import table
from rules.model import Answered, ApartmentId, Fact, Kind, Noise, Reported, RoomRead, TopicId
from tests.plain_language import fernandez_huerta, flesch_kincaid

HOME = ApartmentId("3B")
ANSWERS = [
    Answered(HOME, TopicId(topic), means)
    for topic, rows in table("read_back")["answers"].items()
    for means in rows
]
facts = st.one_of(
    st.sampled_from(ANSWERS),
    st.builds(
        RoomRead, st.just(HOME), st.none() | st.floats(-20, 120), st.none() | st.floats(40, 95)
    ),
    st.builds(Reported, st.just(HOME), st.just(frozenset({Kind.NOISE})), st.sampled_from(Noise)),
)
languages = st.sampled_from(["en", "es"])


def _words(*known: Fact, kinds: frozenset[Kind] = frozenset({Kind.TOO_COLD})) -> list[str]:
    return [thing.en for thing in understood(kinds, known)]


def test_what_where_since_when() -> None:
    """The complaint first, then how far it reaches, since when, and how warm it is."""
    said = _words(
        RoomRead(HOME, 58.0, 70.0),
        Answered(HOME, TopicId("q_start"), "sudden_today"),
        Answered(HOME, TopicId("q_rooms"), "all"),
    )
    assert said == [
        "too cold",
        "whole home",
        "since today",
        "58 F (14 C) inside",
        "set to 70 F (21 C)",
    ]


def test_the_last_word_counts() -> None:
    """An answer that was changed is read back as it is now; so is a temperature."""
    changed = (
        Answered(HOME, TopicId("q_rooms"), "all"),
        Answered(HOME, TopicId("q_rooms"), "one_room"),
        RoomRead(HOME, 58.0, None),
        RoomRead(HOME, 61.0, None),
    )
    assert _words(*changed) == ["too cold", "one room", "61 F (16 C) inside"]


def test_a_noise_of_the_first_text_is_read_back() -> None:
    """What the noise was said to be is read back; "other" says nothing."""
    noise = frozenset({Kind.NOISE})
    assert _words(Reported(HOME, noise, Noise.GURGLE), kinds=noise) == ["noise", "a gurgle"]
    assert _words(Reported(HOME, noise, Noise.OTHER), kinds=noise) == ["noise"]


def test_one_thing_is_not_read_back() -> None:
    """With one thing understood there is nothing to compare."""
    assert read_back(understood({Kind.TOO_COLD}, ()), "", "en") is None


def test_the_text_as_it_goes_out() -> None:
    """What we have, by when, and two choices beside "not sure"."""
    known = (Answered(HOME, TopicId("q_rooms"), "all"),)
    out = read_back(understood({Kind.TOO_COLD}, known), "We aim to act by 7 pm today.", "en")
    assert out is not None
    assert out.text == (
        "We have: too cold, whole home. We aim to act by 7 pm today. Is that right?"
        "\n1 right\n2 change\n0 not sure"
    )
    assert out.asks is not None
    assert out.asks.choices == (("1", "right"), ("2", "change"), ("0", "unknown"))


@given(st.frozensets(st.sampled_from(Kind)), st.lists(facts, max_size=12), languages, st.booleans())
def test_it_is_always_one_text(
    kinds: frozenset[Kind], known: list[Fact], language: str, again: bool
) -> None:
    """However much was understood: one segment, at least two things, with its question."""
    things = understood(kinds, known)
    by = say("read_back_by", language, by=LONGEST[language]["by"])
    out = read_back(things, by, language, again=again)
    if len(things) < 2:
        assert out is None
        assert said_back(things, language) is None
        return
    assert out is not None
    assert septets(out.text) is not None
    assert fits_one_text(out.text)
    assert out.asks is not None
    assert all(t.in_language(language) in out.text for t in things[:2])
    told = said_back(things, language)
    assert told is not None
    assert fits_one_text(told)


def test_the_table_names_what_can_be_answered() -> None:
    """Every answer that is read back is one a tenant can give, in words of both languages."""
    for topic, rows in table("read_back")["answers"].items():
        choices = {c.means for c in questions()[TopicId(topic)].choices}
        assert set(rows) <= choices, topic
    for group in (table("read_back")["kinds"], *table("read_back")["answers"].values()):
        for row in group.values():
            assert row["en"]
            assert row["es"]


@pytest.mark.parametrize("count", [2, 4])
def test_it_reads_easily(count: int) -> None:
    """The texts with the longest words are still plain: grade 5, ease 80, as all that we send."""
    things = understood(
        {Kind.NO_HOT_WATER, Kind.TOO_COLD},
        [a for a in ANSWERS if a.means in {"all", "weeks", "cold", "lukewarm"}],
    )[:count]
    english = read_back(things, say("read_back_by", "en", by="7 pm today"), "en")
    spanish = read_back(things, say("read_back_by", "es", by="hoy a las 7 pm"), "es")
    assert english is not None
    assert spanish is not None
    assert flesch_kincaid(english.text) <= 5
    assert fernandez_huerta(spanish.text) >= 80
