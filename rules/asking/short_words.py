"""What a text says in passing, whatever was asked: thanks, a plea, a slip, a cry for help, "back".

Also what it says of a report that was thought to be over, and which trouble it calls over.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from functools import cache

from rules.data import table
from rules.model import Kind

__all__ = [
    "after_yes",
    "asks_when",
    "has_no_thermostat",
    "in_crisis",
    "is_away",
    "is_back_again",
    "is_call",
    "is_first_dust",
    "is_of_access",
    "is_of_cold_water",
    "is_of_others",
    "is_of_texting",
    "is_of_the_other",
    "is_plea",
    "is_puzzled",
    "is_question",
    "is_slip",
    "is_still_nothing",
    "is_stopped_heat",
    "is_thanks",
    "is_there_again",
    "is_thumbs_up",
    "is_vain_visit",
    "names_a_bad_time",
    "names_the_right_door",
    "nobody_came",
    "plain",
    "put_right",
    "says_it_is_well",
    "says_too",
    "takes_back",
    "wants_no_questions",
    "works_now",
]

_LONGEST = 500  # characters; what comes after is not looked at


def plain(text: str) -> str:
    """Words without signs and accents; "isn't" is one."""
    spread = unicodedata.normalize("NFKD", re.sub("['’]", "", text.lower()))
    bare = "".join(c if c.isalnum() else " " for c in spread if not unicodedata.combining(c))
    return " ".join(bare.split())[:_LONGEST]


def takes_back(text: str) -> bool:
    """Whether the last answer is to be taken out."""
    return _pattern("back").fullmatch(plain(text)) is not None


def is_thanks(text: str) -> bool:
    """Whether somebody only thanks or agrees."""
    words = plain(text)
    short = len(words) <= table("short_words")["longest_thanks"]
    return short and "?" not in text and _pattern("thanks").search(words) is not None


def is_thumbs_up(text: str) -> bool:
    """Whether a text is nothing but signs, one of which says "ok" or thanks."""
    return not plain(text) and re.search(table("short_words")["thumbs"], text) is not None


def is_vain_visit(text: str) -> bool:
    """Whether somebody came and has mended nothing."""
    return _pattern("vain_visit").search(plain(text)) is not None


def is_plea(text: str) -> bool:
    """Whether somebody wants something to stop, and it may be the trouble rather than our texts."""
    words = plain(text)
    return (
        _pattern("plea").fullmatch(words) is not None
        and _pattern("plea_names").search(words) is not None
    )


def is_slip(text: str) -> bool:
    """Whether a text was meant for somebody else."""
    return _pattern("slip").search(plain(text)) is not None


def in_crisis(text: str) -> bool:
    """Whether somebody speaks of ending their own life or hurting themselves."""
    return _pattern("crisis").search(plain(text)) is not None


def works_now(text: str) -> bool:
    """Whether it says that what was broken works."""
    return _pattern("works_now").search(plain(after_yes(text) or text)) is not None


def says_it_is_well(text: str) -> bool:
    """Whether some word of it may say how well it is now."""
    return _pattern("is_well").search(plain(text)) is not None


def is_of_access(text: str) -> bool:
    """Whether it says how to get in, or when somebody is there."""
    return _pattern("access").search(plain(text)) is not None or names_a_bad_time(text)


def names_a_bad_time(text: str) -> bool:
    """Whether nobody is to come or to ring at a certain time."""
    return _pattern("not_then").search(plain(text)) is not None


def has_no_thermostat(text: str) -> bool:
    """Whether it says that there is no thermostat in the home."""
    return _pattern("no_thermostat").search(plain(text)) is not None


def is_of_cold_water(text: str, kinds: Collection[Kind]) -> bool:
    """Whether "cold" is the water, where hot water is reported and nothing of the rooms."""
    reported = Kind.NO_HOT_WATER in kinds and {Kind.TOO_COLD, Kind.TOO_HOT}.isdisjoint(kinds)
    return reported and _pattern("just_cold").fullmatch(plain(text)) is not None


def is_back_again(text: str) -> bool:
    """Whether it says that what was over is there again, or was never over."""
    return _pattern("back_again").search(plain(text)) is not None


def is_first_dust(text: str) -> bool:
    """Whether it smells of dust as the heat comes on, and not for long."""
    words = plain(text)
    smells = all(_pattern(name).search(words) for name in ("dust", "dust_smell", "dust_heat"))
    return smells and _pattern("dust_is_more").search(words) is None


def is_puzzled(text: str) -> bool:
    """Whether somebody does not see what is meant."""
    return _pattern("puzzled").fullmatch(plain(text)) is not None


def is_question(text: str) -> bool:
    """Whether it begins as a question does that tells nothing: "is there a warming center"."""
    return _pattern("question").match(plain(text)) is not None


def is_of_texting(text: str) -> bool:
    """Whether it speaks of texts or messages."""
    return _pattern("texting").search(plain(text)) is not None


def is_stopped_heat(text: str) -> bool:
    """Whether it says that heat or hot water has stopped."""
    return _pattern("heat_stopped").search(plain(text)) is not None


def is_there_again(text: str) -> bool:
    """Whether it says "again" in so many words."""
    return _pattern("there_again").search(plain(text)) is not None


def after_yes(text: str) -> str:
    """What follows a "yes" at the beginning; empty if nothing does or there is none."""
    said = re.match(table("short_words")["agrees"], text.strip(), re.IGNORECASE)
    return text.strip()[said.end() :] if said else ""


def asks_when(text: str) -> bool:
    """Whether it asks for nothing but a time."""
    return _pattern("asks_when").fullmatch(plain(text)) is not None


def is_call(text: str) -> bool:
    """Whether somebody who waits calls out: "hello?", and nothing else."""
    return "?" in text and _pattern("calls").fullmatch(plain(text)) is not None


def names_the_right_door(text: str) -> bool:
    """Whether it says that another apartment is meant than the one told before."""
    return _pattern("right_door").search(plain(text)) is not None


def is_still_nothing(text: str) -> bool:
    """Whether it says no more than that nothing has changed."""
    return re.search(table("short_words")["still_nothing"], plain(text)) is not None


def nobody_came(text: str) -> bool:
    """Whether somebody has waited for us in vain."""
    return _pattern("nobody_came").search(plain(text)) is not None


def is_of_the_other(text: str) -> bool:
    """Whether it speaks of the other of two homes."""
    return _pattern("the_other").search(plain(text)) is not None


def says_too(text: str) -> bool:
    """Whether it says that somewhere else it is the same."""
    return "?" not in text and _pattern("too").search(plain(text)) is not None


def is_away(text: str) -> bool:
    """Whether somebody cannot look now and will later."""
    return _pattern("away").search(plain(text)) is not None


def put_right(text: str) -> str:
    """What follows "wait, I meant" at the beginning; empty if there is none."""
    words = plain(text)
    said = re.match(table("short_words")["corrects"], words)
    return words[said.end() :] if said else ""


def wants_no_questions(text: str) -> bool:
    """Whether somebody has had enough of being asked."""
    return _pattern("no_more_questions").search(plain(text)) is not None


def is_of_others(text: str, kinds: Collection[Kind]) -> bool:
    """Whether all that it says to work is something else than what is reported: "the heat is fine"."""
    words, rows = plain(text), table("short_words")
    named = [thing for thing, says in rows["works"].items() if re.search(says, words)]
    works = {Kind(kind) for thing in named for kind in rows["works_of"][thing]}
    return bool(works) and works.isdisjoint(kinds)


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{one})" for one in table("short_words")[name]))
