"""What a tenant wants with a text.

Theory of operation
-------------------
The order decides. Opting out and in, and the help word, must be the message or name texting itself:
"the noise won't stop" opts out of nothing. Then wanting a person, calling off, an answer to the
question asked, asking after a visit; then mended, if nothing is left to complain of; then a reply by
its form ("yes it's still hot", "just the bedroom"); then a complaint; then a reply by its matter ("the
window is open"). What is left is ``other``.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from rules.data import table
from rules.model import Intent, Kind
from rules.reading.phrases import Line, Section, section
from rules.reading.vocabulary import pieces
from rules.reading.words import Sort, Word

__all__ = ["intent_of", "is_mended", "language_wish"]

_LONGEST_FRAGMENT = 8
# Words a scrap of an answer is made of, and those of them that say something.
_NAMING = ("ROOM", "ALLROOMS", "TIMEUNIT", "PASTTIME", "WEEKDAY")
_SCRAP = (*_NAMING, "SCRAP", "WHOLE", "GOODW", "ATNOW", "NUM", "COUNT")
_SPOKEN = (Sort.WORD, Sort.NUMBER)


def language_wish(words: Sequence[Word]) -> str | None:
    """The language somebody asks to be written to in."""
    seen = section("wishes")
    line = seen.line(words)
    return next((name for name in ("es", "en") if line.says(seen[name])), None)


def is_mended(words: Sequence[Word]) -> bool:
    """Whether a text says that something works again or has stopped."""
    seen = section("talk")
    return bool(seen.standing(seen.line(words), "resolved"))


def intent_of(
    words: Sequence[Word],
    kinds: Collection[Kind],
    *,
    firm: Collection[Kind],
    answers: bool,
    asked: bool,
    danger: bool,
    states: bool,
) -> Intent:
    """The one intent of a text.

    ``firm`` are the kinds told in words and not only by how a radiator feels or a number,
    ``answers`` says that it answers the question asked, ``states`` that it tells how something in the
    home is.
    """
    talk = _Talk(words, kinds, firm)
    if talk.is_only("stop_words") or talk.says("stop"):
        return Intent.STOP
    if talk.is_only("start_words") or talk.says("start"):
        return Intent.START
    if talk.says("human"):
        return Intent.WANT_HUMAN
    if danger:
        return Intent.ANSWER if answers else (talk.asks_after() or Intent.COMPLAINT)
    if talk.says("cancel") and not (kinds and not talk.says("cancel_firm")):
        return Intent.CANCEL
    if answers:
        return Intent.ANSWER
    return talk.status() or talk.closing() or talk.reply(asked=asked) or talk.rest(states=states)


class _Talk:
    def __init__(
        self, words: Sequence[Word], kinds: Collection[Kind], firm: Collection[Kind]
    ) -> None:
        self._firm = frozenset(firm)
        self._kinds = frozenset(kinds)
        self._seen: Section = section("talk")
        self._line: Line = self._seen.line(words)
        self._plain = " ".join(word.text for word in words if word.sort in _SPOKEN)

    def says(self, name: str) -> bool:
        return bool(self._seen.standing(self._line, name))

    def is_only(self, name: str) -> bool:
        """Whether the text is one of these keywords, punctuation and politeness apart."""
        return self._plain in _keywords(name)

    def asks_after(self) -> Intent | None:
        """Asking when somebody comes, beside a danger that is told again."""
        asks = self.says("status") or self.says("status_firm")
        return Intent.STATUS_QUESTION if asks and self.says("goes_on") else None

    def status(self) -> Intent | None:
        if self.is_only("status_words") or self.says("status") or self.says("status_firm"):
            return Intent.STATUS_QUESTION
        if not self._kinds and self.says("status_weak"):
            return Intent.STATUS_QUESTION
        return None

    def closing(self) -> Intent | None:
        if self.is_only("help_words") or (not self._kinds and self.says("help")):
            return Intent.HELP
        if not self._kinds and self.says("resolved"):
            # Somebody's burnt rice is over, but nothing was ever wrong.
            return Intent.OTHER if self.says("own_doing") else Intent.RESOLVED
        return None

    def reply(self, *, asked: bool) -> Intent | None:
        """A text that reads as a reply though the question is not known."""
        if any(self.says(name) for name in ("yes", "no", "done", "number_only", "told_how")):
            return Intent.ANSWER
        if self.says("access") and self._kinds <= {Kind.OTHER}:
            return Intent.ANSWER
        if self.says("deed") and (asked or not self._firm):
            return Intent.ANSWER
        short = len(self._plain.split()) <= _LONGEST_FRAGMENT
        if short and (self.says("fragment") or self._is_scrap()):
            return Intent.ANSWER
        if self.says("unchanged") and not self._kinds:
            return Intent.ANSWER
        if self.says("unsure") and not self._kinds:
            return Intent.ANSWER
        if self.says("ok") and not self._kinds and asked:
            return Intent.ANSWER
        return None

    def _is_scrap(self) -> bool:
        """Whether all words only name a room, a time or a number: "en todos los cuartos"."""
        line = self._line
        spoken = [g for g in range(len(line.groups)) if not line.is_break(g)]
        named = any(line.is_a(g, name) for g in spoken for name in _NAMING)
        return named and all(any(line.is_a(g, name) for name in _SCRAP) for g in spoken)

    def rest(self, *, states: bool) -> Intent:
        if self.says("policy") and self._kinds <= {Kind.OTHER}:
            return Intent.OTHER
        if self._kinds or self.says("please_send") or self.says("persists"):
            return Intent.COMPLAINT
        # Nobody tells us unasked how a window or a valve is if nothing is wrong with it.
        of_home = states or self.says("equipment")
        return Intent.ANSWER if of_home and not self._is_question() else Intent.OTHER

    def _is_question(self) -> bool:
        return self.says("asks") or any(word.text in "?¿" for word in self._line.words)


def _keywords(name: str) -> frozenset[str]:
    made = _KEYWORDS.get(name)
    if made is None:
        forms = re.split(r",\s+", table("phrases")["keywords"][name])
        made = frozenset(" ".join(m.group() for m in pieces(form)) for form in forms)
        _KEYWORDS[name] = made
    return made


_KEYWORDS: dict[str, frozenset[str]] = {}
