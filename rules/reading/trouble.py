"""What is wrong, in the tenant's terms, and what a noise sounds like.

Theory of operation
-------------------
Each kind has its phrases in ``phrases.yaml``. A phrase counts if nothing takes it back (cold water is
not a cold home), if it is not negated, not past and, for cold, heat and hot water, not a neighbor's.
What is cold or hot is the thing named before it, or a person: water, radiator and street keep theirs.
The dangerous kinds come from ``danger``. ``other`` is for what the heating line is told though it is
neither too hot nor too cold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rules.model import Kind, Noise
from rules.reading.certain import CERTAIN, denials_of
from rules.reading.danger import Danger
from rules.reading.line import Found, Line
from rules.reading.phrases import Section, section
from rules.reading.scope import is_negated, is_occasion, is_of_others, is_past
from rules.reading.words import Words

__all__ = ["Trouble", "trouble_in"]

_OWN_HOME_ONLY = (Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER)
_NOISES = (
    ("bang", Noise.BANG),
    ("gurgle", Noise.GURGLE),
    ("tick", Noise.TICK),
    ("hum", Noise.HUM),
    ("hiss", Noise.HISS),
    ("rumble", Noise.RUMBLE),
    ("noise_other", Noise.OTHER),
)
# Beside one of these "other" is the same thing in other words: the lamp the water runs through.
_SAYS_MORE = frozenset({Kind.CO_ALARM, Kind.SMOKE, Kind.ELECTRICAL, Kind.GAS_SMELL})
_LASTING = (Noise.HUM, Noise.HISS)
_KIND_OF_DANGER = {
    "gas": Kind.GAS_SMELL,
    "co": Kind.CO_ALARM,
    "fire": Kind.SMOKE,
    "electrical": Kind.ELECTRICAL,
    "water_electrics": Kind.ELECTRICAL,
}


@dataclass(frozen=True, slots=True)
class Trouble:
    """The kinds of trouble with their places in the text, and the noise if there is one.

    ``only_at_emitter`` are the kinds that rest on how a radiator or pipe feels, and on nothing else;
    ``only_heating_cold`` says that nothing but the heating is called cold or off; ``said`` are the lists
    of phrases that are said, "not" before those taken back or denied.
    """

    kinds: tuple[tuple[Kind, int, int], ...]
    noise: Noise | None
    only_at_emitter: frozenset[Kind]
    only_heating_cold: bool
    said: frozenset[str]


class _Looker:
    def __init__(self, words: Words, *, over: bool) -> None:
        self.seen: Section = section("trouble")
        self.line: Line = self.seen.line(words)
        self._ended = [f for f in self.seen.standing(self.line, "over") if not self._goes_on(f)]
        self._over = over or bool(self._ended)
        self._joint = self.line.says(self.seen["joint"])

    def _goes_on(self, found: Found) -> bool:
        """ "Won't stop leaking" is no end."""
        return is_negated(self.line, found)

    def first(self, name: str, *, own_home_only: bool) -> Found | None:
        denied = self._denied(name)
        for found in self.seen.standing(self.line, name):
            if self._stands(found, own_home_only) and not any(map(found.meets, denied)):
                return found
        return None

    def _denied(self, name: str) -> list[Found]:
        """Where it is said to be something else than this kind."""
        denials = denials_of(name)
        return [found for denial in denials for found in self.seen.standing(self.line, denial)]

    def said(self) -> frozenset[str]:
        """The lists of which a phrase is said, "not" before those of which none stands."""
        return frozenset(
            name if stands else f"not {name}"
            for name in self.line.likely_lists()
            if (stands := self.first(name, own_home_only=False) is not None)
            or self.line.says(self.seen[name])
        )

    def is_cold_only_by(self, *names: str) -> bool:
        """Whether all that is called cold is what these lists say is: a radiator, or that it is off."""
        touched = [found for name in names for found in self.line.find(self.seen[name])]
        return bool(touched) and all(
            any(map(found.meets, touched))
            for found in self.seen.standing(self.line, Kind.TOO_COLD.value)
        )

    def _stands(self, found: Found, own_home_only: bool) -> bool:
        if is_negated(self.line, found) or is_past(self.line, found, over=self._over):
            return False
        if any(map(found.meets, self._ended)):
            return False
        return self._joint or not own_home_only or not is_of_others(self.line, found)


def trouble_in(words: Words, dangers: Sequence[Danger], *, over: bool) -> Trouble:
    """The troubles told of; ``over`` says that the text also tells that something is mended."""
    looker = _Looker(words, over=over)
    if looker.line.says(looker.seen["joke"]):
        return Trouble((), None, frozenset(), False, looker.said())
    kinds: dict[Kind, tuple[int, int]] = {}
    for kind in (Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.LEAK, Kind.OTHER):
        found = looker.first(kind.value, own_home_only=kind in _OWN_HOME_ONLY)
        if found is None and kind is Kind.OTHER:
            # "Leak under the sink, mice": here no reading of one as the other's cause takes it back.
            found = looker.first("plain_other", own_home_only=False)
        if found is not None:
            kinds[kind] = _place(words, found)
    _plainly(looker, words, kinds)
    at_emitter = looker.first("too_hot_even_at_emitter", own_home_only=True)
    only_at_emitter = {Kind.TOO_HOT} if Kind.TOO_HOT not in kinds and at_emitter else set()
    if Kind.TOO_COLD in kinds and looker.is_cold_only_by("cold_at_emitter"):
        only_at_emitter.add(Kind.TOO_COLD)
    if at_emitter is not None:
        kinds.setdefault(Kind.TOO_HOT, _place(words, at_emitter))
    if Kind.TOO_COLD in only_at_emitter and Kind.TOO_HOT in kinds:
        # "Boiling in here, and the radiators are stone cold": it is the radiator that is cold.
        kinds.pop(Kind.TOO_COLD)
    noise = _noise(looker, words, kinds)
    cold = looker.first(Kind.TOO_COLD.value, own_home_only=True)
    if Kind.NOISE in kinds and cold is not None and is_occasion(looker.line, cold):
        kinds.pop(Kind.TOO_COLD, None)
    _dangerous(looker, words, dangers, kinds)
    _something_else(looker, words, dangers, kinds, noise)
    places = tuple((kind, *place) for kind, place in kinds.items())
    of_heating = looker.is_cold_only_by("cold_at_emitter", "heating_off")
    return Trouble(places, noise, frozenset(only_at_emitter), of_heating, looker.said())


def _plainly(looker: _Looker, words: Words, kinds: dict[Kind, tuple[int, int]]) -> None:
    """What phrases tell that name what is well beside it, or two troubles at once."""
    for name in ("none_of_both", "heat_instead", "water_instead"):
        plain = looker.first(name, own_home_only=True)
        if plain is not None:
            for kind in CERTAIN[name]:
                kinds.setdefault(kind, _place(words, plain))


def _place(words: Words, found: Found) -> tuple[int, int]:
    return words[found.first].start, words[found.last].end


def _noise(looker: _Looker, words: Words, kinds: dict[Kind, tuple[int, int]]) -> Noise | None:
    """The first noise named in particular; "noise" alone is one of no particular sound."""
    back = looker.line.find(looker.seen["noise_not"])
    heard: list[tuple[int, Noise, Found]] = []
    for name, noise in (*_NOISES, ("noise", Noise.OTHER)):
        found = _not_taken_back(looker, name, back)
        if found is not None:
            vague = len(words) if name == "noise" else 0
            heard.append((found.first + vague, noise, found))
    if not heard:
        return None
    _, noise, found = min(heard, key=lambda h: h[0])
    kinds[Kind.NOISE] = _place(words, found)
    return noise


def _not_taken_back(looker: _Looker, name: str, back: Sequence[Found]) -> Found | None:
    found = looker.first(name, own_home_only=False)
    if found is None or any(map(found.meets, back)):
        return None
    return found


def _dangerous(
    looker: _Looker,
    words: Words,
    dangers: Sequence[Danger],
    kinds: dict[Kind, tuple[int, int]],
) -> None:
    for danger in dangers:
        kind = _KIND_OF_DANGER.get(danger.kind)
        if kind is not None:
            kinds.setdefault(kind, (danger.start, danger.end))
        if danger.kind == "water_electrics":
            kinds.setdefault(Kind.LEAK, (danger.start, danger.end))
    tripping = looker.first("breaker", own_home_only=False)
    if tripping is not None:
        kinds.setdefault(Kind.ELECTRICAL, _place(words, tripping))


def _something_else(
    looker: _Looker,
    words: Words,
    dangers: Sequence[Danger],
    kinds: dict[Kind, tuple[int, int]],
    noise: Noise | None,
) -> None:
    """What is reported but has no kind of its own, where nothing else is reported."""
    if _SAYS_MORE.intersection(kinds):
        kinds.pop(Kind.OTHER, None)
        # An alarm's beep and a plug's one pop are no noise of the heating; what hums or hisses is.
        lasting = noise in _LASTING and Kind.CO_ALARM not in kinds
        if not lasting and looker.first("heating_named", own_home_only=False) is None:
            kinds.pop(Kind.NOISE, None)
    # "Melted", "burning": hot is the plug, unless the home is said to be.
    if dangers and looker.first("hot_home", own_home_only=False) is None:
        kinds.pop(Kind.TOO_HOT, None)
    if kinds:
        return
    found = looker.first("other_alone", own_home_only=False)
    if found is not None:
        kinds[Kind.OTHER] = _place(words, found)
    elif dangers:
        cold = all(danger.kind == "hypothermia" for danger in dangers)
        kinds[Kind.TOO_COLD if cold else Kind.OTHER] = (dangers[0].start, dangers[0].end)
