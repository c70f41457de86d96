"""Signs of danger: concepts that stand together in a text.

Theory of operation
-------------------
A sign is a row of concepts (``concepts``) that must stand in one sentence within a few words, in any
order or in theirs, without certain others. ``SMELL GAS /10 -COOKING`` reads: both within ten words,
no cooking in the sentence. A concept that is denied ("no smell of gas") does not count, and a word that
had to be guessed never explains a danger away. What stands together may be a concept in its turn: a
head that hurts is an illness, however it is said (``compose``).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

from rules.reading.shortlist import Shortlist
from rules.reading.tokens import OWN_NAMES, Hit, Tokens

__all__ = ["Sign", "Signs", "compose", "find", "listed", "parsed_signs"]

_USUAL_REACH = 10
_MARK = re.compile(r"--|[>/=~-]|")


@dataclass(frozen=True, slots=True)
class Sign:
    """Concepts that together tell of a danger; see the notation above."""

    members: tuple[tuple[str, ...], ...]
    surely: frozenset[str]
    ordered: bool
    reach: int | None
    without: tuple[str, ...]
    nowhere: tuple[str, ...]
    between: tuple[str, ...]

    @classmethod
    def parsed(cls, text: str) -> Sign:
        """A sign from its notation: ``> A|B =C /6 -D --E ~F``.

        ``A|B`` either, ``>`` in this order, ``=C`` counts even if denied, ``/6`` within six words,
        ``/text`` anywhere in the text, ``-D`` D is not in the sentence, ``--E`` E is nowhere in the
        text, ``~F`` F is not between the members.
        """
        told: dict[str, list[str]] = defaultdict(list)
        for token in text.split():
            mark = _MARK.match(token)
            length = mark.end() if mark else 0
            told[token[:length]].append(token[length:])
            if token[:length] in ("", "="):
                told["members"].append(token[length:])
        reach = told["/"][0] if told["/"] else str(_USUAL_REACH)
        return cls(
            members=tuple(tuple(token.split("|")) for token in told["members"]),
            surely=frozenset(name for token in told["="] for name in token.split("|")),
            ordered=">" in told,
            reach=None if reach == "text" else int(reach),
            without=tuple(told["-"]),
            nowhere=tuple(told["--"]),
            between=tuple(told["~"]),
        )

    @property
    def names(self) -> Iterable[str]:
        """Every concept it mentions."""
        told = (name for names in self.members for name in names)
        return (*told, *self.without, *self.nowhere, *self.between)


def find(tokens: Tokens, sign: Sign) -> tuple[int, int] | None:
    """First and last token of the first place where a sign stands."""
    return next(_places(tokens, sign), None)


class Signs:
    """The signs of several kinds of danger, or of several concepts, in the order of their table."""

    __slots__ = ("_kinds", "_signs")

    def __init__(self, signs: Mapping[str, Iterable[Sign]]) -> None:
        self._kinds = frozenset(signs)
        self._signs = Shortlist(
            ((kind, sign), sign.members) for kind, listed in signs.items() for sign in listed
        )

    def likely(self, tokens: Tokens) -> dict[str, list[Sign]]:
        """By kind, the signs of which every concept is named, or one of theirs may make it."""
        found: dict[str, list[Sign]] = {}
        for kind, sign in self._signs.of(tokens.hits.keys() | self._kinds):
            found.setdefault(kind, []).append(sign)
        return found


def compose(tokens: Tokens, composed: Signs) -> None:
    """Add the concepts that others make together, in the order of the table."""
    for name, signs in composed.likely(tokens).items():
        places = {place for sign in signs for place in _places(tokens, sign)}
        for first, last in sorted(places):
            tokens.hits[name].append(Hit(first, last, denied=False, guessed=False))


def _places(tokens: Tokens, sign: Sign) -> Iterator[tuple[int, int]]:
    told: list[list[Hit]] = []
    for names in sign.members:
        hits = [
            hit
            for name in names
            for hit in tokens.hits.get(name, ())
            if name in sign.surely or not hit.denied
        ]
        if not hits:
            return
        told.append(hits)
    if any(not hit.denied for name in sign.nowhere for hit in tokens.surely(name)):
        return
    for lead in told[0]:
        if any(tokens.same_sentence(lead.first, name) for name in sign.without):
            continue
        near = [[hit for hit in hits if _is_near(tokens, sign, lead, hit)] for hits in told[1:]]
        for others in product(*near):
            if (span := _span(tokens, sign, (lead, *others))) is not None:
                yield span


def _is_near(tokens: Tokens, sign: Sign, lead: Hit, hit: Hit) -> bool:
    if sign.reach is None:
        return True
    together = tokens.told_together
    return abs(hit.first - lead.first) <= sign.reach and together[hit.first] == together[lead.first]


def _span(tokens: Tokens, sign: Sign, hits: tuple[Hit, ...]) -> tuple[int, int] | None:
    firsts = [hit.first for hit in hits]
    # One word may not play two parts.
    if len(set(firsts)) < len(firsts):
        return None
    if sign.ordered and any(a.last >= b.first for a, b in pairwise(hits)):
        return None
    start, end = min(firsts), max(hit.last for hit in hits)
    if sign.reach is not None and max(firsts) - start > sign.reach:
        return None
    for name in sign.between:
        if any(start < hit.first < end for hit in tokens.surely(name)):
            return None
    return start, end


def parsed_signs(rows: Iterable[str], known: Iterable[str]) -> tuple[Sign, ...]:
    """Signs of a table; a name that is no concept is an error in the table."""
    signs = tuple(Sign.parsed(row) for row in rows)
    unknown = {name for sign in signs for name in sign.names} - {*known, *OWN_NAMES}
    if unknown:
        raise KeyError(f"no words for concept {', '.join(sorted(unknown))}")
    return signs


def listed(forms: Any) -> frozenset[str]:
    """The words of a comma-separated list."""
    return frozenset(form.strip() for form in str(forms).split(",") if form.strip())
