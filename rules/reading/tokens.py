"""A text as words, with their sentences and the concepts of danger that they name.

Theory of operation
-------------------
A sentence ends at a full stop or a line break, but a scrap of few words goes with its neighbor: people
text "There's a smell. Gas?". A negation reaches a concept through light words only. Besides the concepts
of the tables there are three of its own: NUMBER is a number that may be a gas monitor's reading,
COLDROOM one that may be the temperature of a home gone cold, COMMA a small break.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import accumulate

from rules.reading.concepts import Concepts
from rules.reading.folding import Folded

__all__ = ["OWN_NAMES", "Hit", "Tokens"]

OWN_NAMES = ("NUMBER", "COLDROOM", "COMMA")
_STRONG = frozenset(".!?;…¡¿|")
_WEAK = frozenset(',:()[]{}"“”«»')
# Numbers between these may be a gas monitor's reading in parts per million.
_LOWEST_READING = 10
_HIGHEST_READING = 999
# Common practice, no source: rooms this cold chill old people and babies dangerously.
_LOWEST_ROOM_F = 20
_COLD_ROOM_F = 58
_FARTHEST_NEGATION = 6
_LONGEST_SCRAP = 3


# Not frozen: there are many in a text, and a frozen one takes three times as long to make.
@dataclass(slots=True)
class Hit:
    """One form of a concept: first and last token, whether it is denied, whether it is guessed."""

    first: int
    last: int
    denied: bool
    guessed: bool


class Tokens:
    """A text as words with their sentences, and where it names which concept."""

    __slots__ = ("ends", "hits", "sentences", "starts", "told_together", "words")

    def __init__(
        self, plain: Folded, concepts: Concepts, scope: Mapping[str, frozenset[str]]
    ) -> None:
        self.words = [piece.group() for piece in plain.pieces]
        self.starts = [piece.start() for piece in plain.pieces]
        self.ends = [piece.end() for piece in plain.pieces]
        self.sentences = self._sentences(plain.text, scope["goes_on_after_stop"])
        self.told_together = self._with_scraps_joined()
        self.hits: dict[str, list[Hit]] = defaultdict(list)
        self._look(concepts, scope)

    def _sentences(self, text: str, joining: frozenset[str]) -> list[int]:
        """The sentence of each token, counted; the break that ends one belongs to the next."""
        has_lines = "\n" in text
        if not self.words or (not has_lines and _STRONG.isdisjoint(self.words)):
            return [0] * len(self.words)
        sentences: list[int] = []
        sentence, end = 0, 0
        followings = (*self.words[1:], "")
        for word, following, at in zip(self.words, followings, self.starts, strict=True):
            if has_lines and "\n" in text[end:at]:
                sentence += 1
            # "Weird smell. Like gas": a scrap that only goes on is no sentence of its own.
            if word in _STRONG and following not in joining:
                sentence += 1
            sentences.append(sentence)
            end = at
        return sentences

    def _with_scraps_joined(self) -> list[int]:
        """ "There's a smell. Gas?": a sentence of few words goes with the one before it."""
        if not self.sentences or not self.sentences[-1]:
            return self.sentences
        spoken = [0] * (self.sentences[-1] + 1)
        for word, sentence in zip(self.words, self.sentences, strict=True):
            spoken[sentence] += word[0].isalnum()
        joined = [0]
        for sentence, before in enumerate(accumulate(spoken[:-1]), start=1):
            # "Gas?? My kitchen smells funny": one word that opens goes with what follows.
            is_scrap = before == 1 or spoken[sentence] <= _LONGEST_SCRAP
            joined.append(joined[-1] if is_scrap else sentence)
        return [joined[sentence] for sentence in self.sentences]

    def _look(self, concepts: Concepts, scope: Mapping[str, frozenset[str]]) -> None:
        hidden: dict[str, list[tuple[int, int]]] = defaultdict(list)
        told: list[tuple[int, int, str, bool]] = []
        for at, word in enumerate(self.words):
            if word.isdecimal():
                told += [(at, at, name, False) for name in self._readings(at, scope)]
            if word in _WEAK:
                told.append((at, at, "COMMA", False))
            elif word[0].isalnum() or not word.isascii():
                told += concepts.spans(self.words, at)
        for first, last, name, _ in told:
            for other in concepts.hides.get(name, ()):
                hidden[other].append((first, last))
        denied = self._denied(scope)
        for first, last, name, guessed in told:
            if name in hidden and any(a <= last and first <= b for a, b in hidden[name]):
                continue
            is_denied = denied[first] or self._is_denied_after(last, scope)
            self.hits[name].append(Hit(first, last, is_denied, guessed))

    def _readings(self, at: int, scope: Mapping[str, frozenset[str]]) -> Iterator[str]:
        """Whether a number may be a gas monitor's, or the temperature of a home gone cold."""
        number = int(self.words[at][:6])
        before = self.words[at - 1] if at else ""
        following = self.words[at + 1] if at + 1 < len(self.words) else ""
        if following not in scope["units"]:
            if _LOWEST_READING <= number <= _HIGHEST_READING:
                yield "NUMBER"
            if _LOWEST_ROOM_F <= number < _COLD_ROOM_F and before in scope["shows"]:
                yield "COLDROOM"
        elif following in scope["degrees"] and _LOWEST_ROOM_F <= number < _COLD_ROOM_F:
            yield "COLDROOM"

    def _denied(self, scope: Mapping[str, frozenset[str]]) -> list[bool]:
        """For each token, whether a negation reaches it through nothing but light words."""
        negators, light = scope["negators"], scope["light"]
        denied: list[bool] = []
        reach = 0
        for word in self.words:
            denied.append(reach > 0)
            if word in negators:
                reach = _FARTHEST_NEGATION
            elif reach:
                reach = reach - 1 if word in light else 0
        return denied

    def _is_denied_after(self, last: int, scope: Mapping[str, frozenset[str]]) -> bool:
        """ "Gas no, humo no": denied afterwards."""
        after = self.words[last + 1 : last + 3]
        return (
            bool(after) and after[0] in scope["negators_after"] and after[1:2] in ([], [","], ["."])
        )

    def same_sentence(self, at: int, name: str) -> bool:
        """Whether a concept is surely named, undenied, in the sentence of a token."""
        return any(
            self.sentences[hit.first] == self.sentences[at] and not hit.denied
            for hit in self.surely(name)
        )

    def told_with(self, start: int) -> range:
        """The tokens told together with the one that begins at a character or next after it."""
        at = min(bisect_left(self.starts, start), len(self.words) - 1)
        together = self.told_together
        return range(bisect_left(together, together[at]), bisect_right(together, together[at]))

    def told(self) -> frozenset[str]:
        """The concepts that are named without being denied."""
        return frozenset(
            [name for name, hits in self.hits.items() if any(not hit.denied for hit in hits)]
        )

    def surely(self, name: str) -> Iterator[Hit]:
        """Where a concept is named by a word that did not have to be guessed."""
        return (hit for hit in self.hits.get(name, ()) if not hit.guessed)
