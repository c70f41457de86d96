"""Words for people: shares, evidence weights, names of things.

Everything a template prints passes through ``clean`` first, so no message can turn the text
around it or smuggle control characters into a page.
"""

from __future__ import annotations

import re

from markupsafe import Markup

__all__ = [
    "alert_words",
    "capital",
    "clean",
    "component_words",
    "homes_words",
    "kind_words",
    "language_words",
    "meanwhile_words",
    "per_cent",
    "place_words",
    "quote_language",
    "report_end_words",
    "scope_words",
    "sureness",
    "talk_words",
    "tell_lines",
    "unit_words",
    "weight_words",
]

# Direction overrides, embeddings and isolates, the two direction marks, and control characters
# other than tab and line ends. Unicode Standard 16.0, section 23.2 lists the direction controls.
_UNPRINTABLE = re.compile(
    "[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]"
)

NO_BREAK = "\u00a0"
_KINDS = {
    "too_cold": "too cold",
    "too_hot": "too hot",
    "no_hot_water": "no hot water",
    "noise": "noise",
    "leak": "leak",
    "gas_smell": "smell of gas",
    "co_alarm": "CO alarm",
    "smoke": "smoke",
    "electrical": "electrical",
    "other": "something else",
}
_DANGERS = {
    "gas": "smell of gas",
    "co": "carbon monoxide",
    "fire": "smoke or fire",
    "electrical": "sparks or a burning smell",
    "water_electrics": "water on electrics",
    "scald": "a burn by steam or hot water",
    "hypothermia": "a body getting too cold",
}
_ALERTS = {
    "wants a person": "a household wants a person",
    "repair failed again": "a repair did not help, for the second time",
    "does not answer": "a household does not answer",
    "sender to be confirmed": "a sender has to be confirmed",
    "tenant not reached": "a text could not be delivered",
    "tells of another home": "somebody tells of another home",
    "has moved out": "somebody does not live there any more",
    "waits in the cold after a repair": "a household waits for the warmth of a repair, and is very cold",
    "tells more on a held ticket": "a household tells of something more; its ticket was on hold",
    "waits past the time": "a household asks why nobody came",
    "text set aside": "a text has to be read by a person",
}
_ENDS = {
    "fixed": "closed by a technician",
    "resolved": "the household said that it is over",
    "cancelled": "the household took it back",
    "no_danger": "there was no danger, and nothing else was reported",
    "joined": "went on with another report of the home",
}
_SCOPES = {
    "apartment": "one apartment",
    "loop": "one loop",
    "transformer": "all that one transformer powers",
    "source": "all that one boiler heats",
    "building": "the whole building",
    "riser": "one riser",
}
_UNITS = {
    "V": "volts",
    "A": "amps",
    "ohm": "ohms",
    "F": "degrees F",
    "uA": "microamps",
    "mV": "millivolts",
    "s": "seconds",
    "in_wc": "inches of water",
    "uF": "microfarads",
    "percent": "per cent",
}
_LANGUAGES = {"en": "English", "es": "Spanish", "mixed": "English and Spanish"}
_TALK = {
    "new": "nothing is being asked",
    "place": "asked where they live",
    "which": "asked which home it is",
    "what": "asked what is wrong",
    "asking": "a question is out",
    "waiting": "waits while the thermostat is turned",
    "read_back": "asked whether we understood it right",
    "told": "nothing more to ask",
    "repaired": "asked whether all is right again",
    "person": "the machine asks nothing: a person is to answer",
    "stopped": "wants no texts: call",
    "closed": "no question is out",
}
_PLACES = {
    "apartment": "in the apartment",
    "boiler_room": "in the boiler room",
    "outside": "outside",
}


def clean(value: object) -> object:
    """Take direction controls and control characters out of a text; leave all else alone."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return value if value.isascii() and value.isprintable() else _UNPRINTABLE.sub("", value)


def capital(text: str) -> str:
    """The same sentence with a capital first letter; ids such as ``2A`` stay as they are."""
    return text[:1].upper() + text[1:]


def per_cent(share: float) -> str:
    """A share as a whole per cent; never a false certainty at either end."""
    if share < 0.01:
        return f"under 1{NO_BREAK}%"
    if share > 0.99:
        return f"over 99{NO_BREAK}%"
    return f"{round(share * 100)}{NO_BREAK}%"


def sureness(share: float | None) -> str:
    """How sure we are of a suspect, in one word."""
    if share is None or share < 0.25:
        return "unsure"
    return "likely" if share >= 0.6 else "possible"


def weight_words(weight: float) -> str:
    """What a piece of evidence does to a suspect: ``speaks clearly for``."""
    size = abs(weight)
    if size < 0.05:
        return "changes nothing for"
    way = "for" if weight > 0 else "against"
    if size >= 2:
        return f"speaks strongly {way}"
    if size >= 1:
        return f"speaks clearly {way}"
    return f"speaks {'somewhat' if size >= 0.4 else 'a little'} {way}"


def component_words(component: str) -> str:
    """A component's name as people say it: ``2A.valve`` is the valve of 2A."""
    if component == "unknown":
        return "home not known yet"
    owner, dot, part = component.rpartition(".")
    if dot and part in {"valve", "thermostat", "circulator", "relay"}:
        return f"{part} of {owner}"
    loop, mark, line = component.rpartition(".riser-")
    if mark:
        return f"riser of line {line} on {loop}"
    return component


def homes_words(homes: tuple[str, ...], most: int = 8) -> str:
    """The homes of a ticket, shortened when there are many."""
    if not homes:
        return "no home named"
    shown = ", ".join(homes[:most])
    more = f" and {len(homes) - most} more" if len(homes) > most else ""
    return f"{'home' if len(homes) == 1 else 'homes'} {shown}{more}"


def kind_words(kinds: tuple[str, ...]) -> str:
    """What is complained of."""
    return ", ".join(_KINDS.get(kind, kind.replace("_", " ")) for kind in kinds) or "not said yet"


def report_end_words(outcome: str) -> str:
    """How a household's report ended."""
    return _ENDS.get(outcome, outcome)


def alert_words(what: str) -> str:
    """What an alert is about; that it is a danger is said beside it."""
    head, mark, kinds = what.partition(": ")
    if head == "danger" and mark:
        return ", ".join(_DANGERS.get(kind, kind) for kind in kinds.split(", "))
    return _ALERTS.get(what, what)


def scope_words(scope: str) -> str:
    """How far the trouble reaches."""
    return _SCOPES.get(scope, scope.replace("_", " "))


def place_words(place: str) -> str:
    """Where a check is made."""
    return _PLACES.get(place, place.replace("_", " "))


def tell_lines(tells: str) -> tuple[str, ...]:
    """What each outcome of a check tells, one line an outcome: ``0 V: fuse; 24 V: relay``.

    A piece without a colon belongs to the next outcome, or at the end to the last one.
    """
    lines: list[str] = []
    held = ""
    for piece in tells.split("; "):
        held = f"{held}; {piece}" if held else piece
        if ": " in piece:
            lines.append(held)
            held = ""
    if held:
        lines[-1:] = ["; ".join([*lines[-1:], held])]
    return tuple(lines)


def unit_words(unit: str) -> str:
    """A unit of measurement, written out."""
    return _UNITS.get(unit, unit)


def language_words(language: str | None) -> str:
    """The language of a text; a bare number has none."""
    return _LANGUAGES.get(language or "", "")


def talk_words(state: str) -> str:
    """Where a conversation stands."""
    return _TALK.get(state, state.replace("_", " "))


def meanwhile_words(temporary: str) -> str:
    """What helps until a repair; empty when nothing does."""
    return re.sub(r"^none(; |$)", "", temporary, flags=re.IGNORECASE)


def quote_language(language: str | None) -> str | None:
    """The ``lang`` of a quoted message; a mixed one has none of its own."""
    return language if language in {"en", "es"} else None
