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
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from rules.reading.concepts import Concepts
from rules.reading.vocabulary import pieces

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
        told: list[tuple[int, int, str, bool]] = []
        for at, word in enumerate(self.words):
            if word.isdecimal():
                told += [(at, at, name, False) for name in self._readings(at, scope)]
            if word in _WEAK:
                told.append((at, at, "COMMA", False))
            elif word[0].isalnum() or not word.isascii():
                for last, name, guessed in concepts.spans(self.words, at):
                    told.append((at, last, name, guessed))
                    for other in concepts.hides.get(name, ()):
                        hidden[other].append((at, last))
        for first, last, name, guessed in told:
            if not any(a <= last and first <= b for a, b in hidden.get(name, ())):
                denied = self._is_denied(first, last, scope)
                self.hits[name].append(Hit(first, last, denied, guessed))

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

    def told(self) -> Iterator[str]:
        """The concepts that are named without being denied."""
        return (name for name, hits in self.hits.items() if not all(hit.denied for hit in hits))

    def surely(self, name: str) -> Iterator[Hit]:
        """Where a concept is named by a word that did not have to be guessed."""
        return (hit for hit in self.hits.get(name, ()) if not hit.guessed)
