"""Signs of danger: concepts that stand together in a text.

Theory of operation
-------------------
A sign is a row of concepts (``concepts``) that must stand in one sentence within a few words, in any
order or in theirs, without certain others. ``SMELL GAS /10 -COOKING`` reads: both within ten words,
no cooking in the sentence. A concept that is denied ("no smell of gas") does not count. NUMBER is a
number that may be a gas monitor's reading, COMMA a small break.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

from rules.reading.concepts import Concepts
from rules.reading.vocabulary import pieces

__all__ = ["Hit", "Sign", "Tokens", "find", "listed", "parsed_signs"]

_USUAL_REACH = 10
_STRONG = frozenset(".!?;…¡¿|")
_WEAK = frozenset(',:()[]{}"“”«»')
# Numbers between these may be a gas monitor's reading in parts per million.
_LOWEST_READING = 10
_HIGHEST_READING = 999
_FARTHEST_NEGATION = 6
_LONGEST_SCRAP = 3
_OWN_NAMES = ("NUMBER", "COMMA")
_MARK = re.compile(r"--|[>/=~-]|")


@dataclass(frozen=True, slots=True)
class Hit:
    """One form of a concept: first and last token, and whether it is denied."""

    first: int
    last: int
    denied: bool


@dataclass(frozen=True, slots=True)
class Sign:
    """Concepts that together tell of a danger; see the notation above."""

    members: tuple[str, ...]
    surely: frozenset[str]
    ordered: bool
    reach: int
    without: tuple[str, ...]
    nowhere: tuple[str, ...]
    between: tuple[str, ...]

    @classmethod
    def parsed(cls, text: str) -> Sign:
        """A sign from its notation: ``> A =B /6 -C --D ~E``.

        ``>`` in this order, ``=B`` counts even if denied, ``/6`` within six words, ``-C`` C is not
        in the sentence, ``--D`` D is nowhere in the text, ``~E`` E is not between the members.
        """
        told: dict[str, list[str]] = defaultdict(list)
        for token in text.split():
            mark = _MARK.match(token)
            length = mark.end() if mark else 0
            told[token[:length]].append(token[length:])
            if token[:length] in ("", "="):
                told["members"].append(token[length:])
        return cls(
            members=tuple(told["members"]),
            surely=frozenset(told["="]),
            ordered=">" in told,
            reach=int(told["/"][0]) if told["/"] else _USUAL_REACH,
            without=tuple(told["-"]),
            nowhere=tuple(told["--"]),
            between=tuple(told["~"]),
        )

    @property
    def names(self) -> Iterable[str]:
        """Every concept it mentions."""
        return (*self.members, *self.without, *self.nowhere, *self.between)


class Tokens:
    """A text as words with their sentences, and where it names which concept."""

    __slots__ = ("ends", "hits", "sentences", "starts", "told_together", "words")

    def __init__(self, text: str, concepts: Concepts, scope: Mapping[str, frozenset[str]]) -> None:
        self.words: list[str] = []
        self.starts: list[int] = []
        self.ends: list[int] = []
        self.sentences: list[int] = []
        self._cut(text, scope["goes_on_after_stop"])
        self.told_together = self._with_scraps_joined()
        self.hits: dict[str, list[Hit]] = defaultdict(list)
        self._look(concepts, scope)

    def _cut(self, text: str, joining: frozenset[str]) -> None:
        sentence, end = 0, 0
        found = pieces(text)
        for index, piece in enumerate(found):
            word = piece.group()
            if "\n" in text[end : piece.start()]:
                sentence += 1
            following = found[index + 1].group() if index + 1 < len(found) else ""
            # "Weird smell. Like gas": a scrap that only goes on is no sentence of its own.
            if word in _STRONG and following not in joining:
                sentence += 1
            self.words.append(word)
            self.starts.append(piece.start())
            self.ends.append(piece.end())
            self.sentences.append(sentence)
            end = piece.end()

    def _with_scraps_joined(self) -> list[int]:
        """ "There's a smell. Gas?": a sentence of few words goes with the one before it."""
        spoken = Counter(
            sentence
            for word, sentence in zip(self.words, self.sentences, strict=True)
            if word[0].isalnum()
        )
        joined = list(range(self.sentences[-1] + 1)) if self.sentences else []
        for sentence in range(1, len(joined)):
            # "Gas?? My kitchen smells funny": one word that opens goes with what follows.
            after_opening = sum(spoken[s] for s in range(sentence)) == 1
            if after_opening or spoken[sentence] <= _LONGEST_SCRAP:
                joined[sentence] = joined[sentence - 1]
        return [joined[sentence] for sentence in self.sentences]

    def _look(self, concepts: Concepts, scope: Mapping[str, frozenset[str]]) -> None:
        hidden: dict[str, list[tuple[int, int]]] = defaultdict(list)
        told: list[tuple[int, int, str]] = []
        for at, word in enumerate(self.words):
            if word[0].isdecimal() and self._is_reading(at, scope["units"]):
                told.append((at, at, "NUMBER"))
            if word in _WEAK:
                told.append((at, at, "COMMA"))
            elif word[0].isalnum() or not word.isascii():
                for last, name in concepts.spans(self.words, at):
                    told.append((at, last, name))
                    for other in concepts.hides.get(name, ()):
                        hidden[other].append((at, last))
        for first, last, name in told:
            if not any(a <= last and first <= b for a, b in hidden.get(name, ())):
                self.hits[name].append(Hit(first, last, self._is_denied(first, last, scope)))

    def _is_reading(self, at: int, units: frozenset[str]) -> bool:
        digits = self.words[at]
        following = self.words[at + 1] if at + 1 < len(self.words) else ""
        return (
            digits.isdecimal()
            and _LOWEST_READING <= int(digits[:6]) <= _HIGHEST_READING
            and following not in units
        )

    def _is_denied(self, first: int, last: int, scope: Mapping[str, frozenset[str]]) -> bool:
        for at in range(first - 1, max(-1, first - 1 - _FARTHEST_NEGATION), -1):
            word = self.words[at]
            if word in scope["negators"]:
                return True
            if word not in scope["light"]:
                break
        # "Gas no, humo no": denied afterwards.
        after = self.words[last + 1 : last + 3]
        return (
            bool(after) and after[0] in scope["negators_after"] and after[1:2] in ([], [","], ["."])
        )

    def same_sentence(self, at: int, name: str) -> bool:
        """Whether a concept is named, undenied, in the sentence of a token."""
        return any(
            self.sentences[hit.first] == self.sentences[at] and not hit.denied
            for hit in self.hits.get(name, ())
        )


def find(tokens: Tokens, sign: Sign) -> tuple[int, int] | None:
    """First and last token of the first place where a sign stands."""
    listed: list[list[Hit]] = []
    for name in sign.members:
        hits = tokens.hits.get(name)
        if not hits:
            return None
        listed.append([h for h in hits if name in sign.surely or not h.denied])
    if any(tokens.hits.get(name) for name in sign.nowhere):
        return None
    for lead in listed[0]:
        near = [
            [
                hit
                for hit in hits
                if abs(hit.first - lead.first) <= sign.reach
                and tokens.told_together[hit.first] == tokens.told_together[lead.first]
            ]
            for hits in listed[1:]
        ]
        if any(tokens.same_sentence(lead.first, name) for name in sign.without):
            continue
        for others in product(*near):
            if (span := _span(tokens, sign, (lead, *others))) is not None:
                return span
    return None


def _span(tokens: Tokens, sign: Sign, hits: tuple[Hit, ...]) -> tuple[int, int] | None:
    firsts = [hit.first for hit in hits]
    # One word may not play two parts.
    if len(set(firsts)) < len(firsts):
        return None
    if sign.ordered and any(a.last >= b.first for a, b in pairwise(hits)):
        return None
    start, end = min(firsts), max(hit.last for hit in hits)
    if max(firsts) - start > sign.reach:
        return None
    for name in sign.between:
        if any(start < hit.first < end for hit in tokens.hits.get(name, ())):
            return None
    return start, end


def parsed_signs(rows: Iterable[str], concepts: Concepts) -> tuple[Sign, ...]:
    """Signs of a table; a name that is no concept is an error in the table."""
    signs = tuple(Sign.parsed(row) for row in rows)
    for sign in signs:
        for name in sign.names:
            if name not in concepts.names and name not in _OWN_NAMES:
                raise KeyError(f"no words for concept {name}")
    return signs


def listed(forms: Any) -> frozenset[str]:
    """The words of a comma-separated list."""
    return frozenset(form.strip() for form in str(forms).split(",") if form.strip())
