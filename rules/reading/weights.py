"""What each clue of a text is worth for each kind of trouble, each intent and each value of a slot.

Theory of operation
-------------------
Rules are sure of what people thought of; strangers say it otherwise. ``reading_weights.yaml`` is learned
from labelled messages (``tests/evaluation_reading/learn_reading.py``): a weight for each clue of words
and of rules (``clues``) and each label it speaks for or against: a kind, an intent, a value of
``slots``, danger (``ear``). A kind is told where its sum is above zero; the intent is the one with the
greatest sum. Each different word of a text counts once, with all that it is made of.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from functools import cache, lru_cache
from struct import Struct
from typing import Any

from rules.data import table
from rules.model import Intent, Kind
from rules.reading.by_rule import NO_KINDS
from rules.reading.clues import clues_of_word
from rules.reading.slots import SLOTS, Slot

__all__ = [
    "DANGER",
    "LABELS",
    "Weights",
    "decided",
    "intents_of",
    "kinds_of",
    "kinds_of_dangers",
    "packed",
    "sum_of_danger",
    "sums_of_slots",
    "unpacked",
    "weights",
    "weights_of",
]

# A kind and an intent may have the same name.
_KINDS, _INTENTS = tuple(Kind), tuple(Intent)
DANGER = "danger"
LABELS: tuple[Kind | Intent | Slot | str, ...] = (*_KINDS, *_INTENTS, *SLOTS, DANGER)
_FIRST_SLOT = len(_KINDS) + len(_INTENTS)
_PLACES: Mapping[Kind | Slot, int] = {
    **{kind: at for at, kind in enumerate(_KINDS)},
    **{slot: at for at, slot in enumerate(SLOTS, start=_FIRST_SLOT)},
}

# The trouble that a danger is; any other may be of every kind.
_OF_DANGER: Mapping[str, tuple[Kind, ...]] = {
    "gas": (Kind.GAS_SMELL,),
    "co": (Kind.CO_ALARM,),
    "fire": (Kind.SMOKE,),
    "electrical": (Kind.ELECTRICAL,),
    "water_electrics": (Kind.LEAK, Kind.ELECTRICAL),
    "hypothermia": (Kind.TOO_COLD,),
    "scald": (Kind.LEAK, Kind.OTHER),
}
_OPTING = (Intent.STOP, Intent.START)
_PLAIN = -50
_OVER = (Intent.RESOLVED, Intent.CANCEL)
# Where less than this speaks for every intent, nothing does.
_NOTHING = -150

# The weights of a clue for all labels in one integer, a field for each, so that they add up at once.
Packed = int
_FIELD = 32
_FIELDS = Struct(f"<{len(LABELS)}I")
# Added to every field before they are read, so that none is below zero.
_ZERO = 1 << (_FIELD - 1)
_ZEROS = sum(_ZERO << (_FIELD * label) for label in range(len(LABELS)))


class Weights:
    """Weights of clues of words and of rules, in hundredths, and what each label starts from."""

    def __init__(
        self, bias: Packed, words: Mapping[str, Packed], rules: Mapping[str, Packed]
    ) -> None:
        self.bias = bias
        self.words = words
        self.rules = rules
        self._of_word = lru_cache(maxsize=8192)(self._worth_of)

    def _worth_of(self, word: str) -> Packed:
        return sum(self.words.get(clue, 0) for clue in clues_of_word(word))

    def sums(
        self, spoken: AbstractSet[str], of_words: AbstractSet[str], of_rules: AbstractSet[str]
    ) -> tuple[int, ...]:
        """How much speaks for each label, in hundredths, in the order of ``LABELS``.

        ``spoken`` are the different words of the text, the others its clues.
        """
        of_word, of_rule = self.words.get, self.rules.get
        total = sum(map(self._of_word, spoken), self.bias)
        total = sum(filter(None, map(of_word, of_words)), total)
        return unpacked(sum(filter(None, map(of_rule, of_rules)), total))

    def weight(self, word: str, label: Kind | Slot) -> int:
        """What a word is worth for a label."""
        at = _FIELD * _PLACES[label]
        return ((self._of_word(word) + _ZEROS) >> at) % (1 << _FIELD) - _ZERO


def packed(weights: Iterable[tuple[int, int]]) -> Packed:
    """Places of labels with their weights as one integer."""
    return sum(weight << (_FIELD * label) for label, weight in weights)


def unpacked(total: Packed) -> tuple[int, ...]:
    """The weight of each label."""
    fields = _FIELDS.unpack((total + _ZEROS).to_bytes(_FIELDS.size, "little"))
    return tuple([field - _ZERO for field in fields])


def kinds_of(sums: Iterable[float]) -> tuple[Kind, ...]:
    """The kinds that more speaks for than against."""
    return tuple([kind for kind, total in zip(_KINDS, sums, strict=False) if total > 0])


def kinds_of_dangers(dangers: Iterable[str]) -> frozenset[Kind]:
    """The kinds of trouble that dangers, by the names of their table, may be."""
    return frozenset(kind for danger in dangers for kind in _OF_DANGER.get(danger, _KINDS))


def sums_of_slots(sums: Sequence[float]) -> Sequence[float]:
    """Of all sums those of the values of slots."""
    return sums[_FIRST_SLOT:-1]


def sum_of_danger(sums: Sequence[int]) -> int:
    """Of all sums that of danger."""
    return sums[-1]


def intents_of(sums: Sequence[float]) -> list[tuple[Intent, float]]:
    """The intents and what speaks for each, the strongest first."""
    own = zip(_INTENTS, sums[len(_KINDS) : _FIRST_SLOT], strict=True)
    return sorted(own, key=lambda told: -told[1])


def decided(
    sums: Sequence[float],
    intent: Intent,
    kinds: tuple[Kind, ...],
    *,
    danger: Collection[Kind],
    denied: Collection[Kind] = (),
    certain: Collection[Kind] = (),
    never: Collection[Intent] = (),
) -> tuple[Intent, tuple[Kind, ...]]:
    """Intent and kinds by sums; ``intent`` and ``kinds`` by rules, for where sums are of two minds.

    What the text says it is not about, ``denied``, is not told unless rules find it; what rules find
    and is ``certain`` is told. A danger is always something current, of a kind at least; ``danger`` are
    those that it may be, none if there is no danger. Opting in or out has to be said more plainly than
    other things, and ``never`` are intents that the text cannot have. What rules do not take for the
    end of a report is one only if more speaks for that than against it. A complaint is about something;
    where nothing speaks for any intent, rules decide.
    """
    told = kinds_of(sums)
    weighed = tuple(
        kind
        for kind in _KINDS
        if (kind in told and kind not in denied)
        or (kind in kinds and (kind in told or kind in certain))
    )
    over = intent in _OVER
    best = next(
        (
            one
            for one, total in intents_of(sums)
            if total > _least(one, over=over) and one not in never
        ),
        intent,
    )
    if danger:
        likeliest = max(danger, key=lambda kind: (sums[_PLACES[kind]], -_PLACES[kind]))
        return (Intent.COMPLAINT if best in NO_KINDS else best), weighed or (likeliest,)
    if best is Intent.COMPLAINT and not weighed:
        return (best, kinds) if kinds else (intent, ())
    return best, () if best in NO_KINDS else weighed


def _least(intent: Intent, *, over: bool) -> int:
    """More than this has to speak for an intent; ``over`` says that to rules the report is over."""
    if intent in _OPTING:
        return _PLAIN
    return 0 if intent in _OVER and not over else _NOTHING


def weights_of(raw: Mapping[str, Any]) -> Weights:
    """Weights from their table."""
    bias = packed(enumerate(raw["bias"]))
    return Weights(bias, _worth(raw["words"]), _worth(raw["rules"]))


@cache
def weights() -> Weights:
    """The weights, read once per process."""
    return weights_of(table("reading_weights"))


def _worth(lines: str) -> dict[str, Packed]:
    found: dict[str, Packed] = {}
    for line in lines.splitlines():
        clue, _, listed = line.rpartition(" = ")
        numbers = [int(number) for number in listed.split()]
        found[clue] = packed(zip(numbers[::2], numbers[1::2], strict=True))
    return found
