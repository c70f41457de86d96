"""What a tenant wants with a text.

Theory of operation
-------------------
The order decides. Opting out and in, and the help word, must be the message or name texting itself:
"the noise won't stop" opts out of nothing. Then wanting a person, calling off, an answer to the
question asked, asking after a visit; then mended, if nothing is left to complain of; then a reply by
its form ("yes it's still hot", "just the bedroom"); then a complaint; then a reply by its matter ("the
window is open"). Of what is left, talk of another matter is ``other``, a question that names a visit
asks after it, something short is taken for a reply and something longer for a complaint.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from rules.data import table
from rules.model import Intent, Kind
from rules.reading.phrases import Line, Section, section
from rules.reading.vocabulary import pieces, vocabulary
from rules.reading.words import Sort, Word

__all__ = ["Talk", "language_wish"]

_LONGEST_FRAGMENT = 8
_REPLIES = ("yes", "no", "done", "told_how")
# Those that a complaint in words outweighs, unless something was asked.
_REPORTS = ("deed", "number_only")
# Those that a complaint beside them outweighs.
_WEAK_REPLIES = ("unchanged", "unsure")
# Words a scrap of an answer is made of, and those of them that say something.
_NAMING = ("ROOM", "ALLROOMS", "TIMEUNIT", "PASTTIME", "WEEKDAY", "LUKE")
_SCRAP = (*_NAMING, "SCRAP", "WHOLE", "GOODW", "ATNOW", "NUM", "COUNT")
_QUESTION_MARKS = frozenset("?¿")
_SPOKEN = (Sort.WORD, Sort.NUMBER)


def language_wish(words: Sequence[Word]) -> str | None:
    """The language somebody asks to be written to in."""
    seen = section("wishes")
    line = seen.line(words)
    return next((name for name in ("es", "en") if line.says(seen[name])), None)


class Talk:
    """What a text says of the talk itself; made once for a text."""

    def __init__(self, words: Sequence[Word]) -> None:
        self._kinds: frozenset[Kind] = frozenset()
        self._firm: frozenset[Kind] = frozenset()
        self._seen: Section = section("talk")
        self._line: Line = self._seen.line(words)
        self._plain = " ".join(word.text for word in words if word.sort in _SPOKEN)

    def is_mended(self) -> bool:
        """Whether it says that something works again or has stopped."""
        return self._says("resolved")

    def intent(
        self,
        kinds: Collection[Kind],
        *,
        firm: Collection[Kind],
        answers: bool,
        asked: bool,
        danger: bool,
        states: bool,
    ) -> Intent:
        """The one intent of the text.

        ``firm`` are the kinds told in words and not only by how a radiator feels or a number,
        ``answers`` says that it answers the question asked, ``states`` that it tells how something in
        the home is.
        """
        self._kinds, self._firm = frozenset(kinds), frozenset(firm)
        first = self._opting() or (Intent.WANT_HUMAN if self._says("human") else None)
        if first is not None:
            return first
        if danger:
            return Intent.ANSWER if answers else (self._asks_after() or Intent.COMPLAINT)
        if self._says("cancel") and not (kinds and not self._says("cancel_firm")):
            return Intent.CANCEL
        if answers:
            return Intent.ANSWER
        if not kinds and self._says("after_visit") and self._says("persists"):
            return Intent.COMPLAINT
        return self._status() or self._closing() or self._reply(asked=asked) or self._rest(states)

    def _says(self, name: str) -> bool:
        return bool(self._seen.standing(self._line, name))

    def _is_only(self, name: str) -> bool:
        """Whether the text is one of these keywords, punctuation and politeness apart."""
        return self._plain in _keywords(name)

    def _opting(self) -> Intent | None:
        if self._is_only("stop_words") or self._says("stop"):
            return Intent.STOP
        if self._is_only("start_words") or self._says("start"):
            return Intent.START
        return None

    def asks_when(self) -> bool:
        """Whether it plainly asks when somebody comes."""
        coming = self._has_question_mark() and self._says("coming")
        return coming or self._says("status") or self._says("status_firm")

    def _asks_after(self) -> Intent | None:
        """Asking when somebody comes, beside a danger that is told again."""
        asks = self._says("status") or self._says("status_firm")
        return Intent.STATUS_QUESTION if asks and self._says("goes_on") else None

    def _status(self) -> Intent | None:
        if self._is_only("status_words") or self._says("status") or self._says("status_firm"):
            return Intent.STATUS_QUESTION
        asks = self._has_question_mark()
        if asks and (self._says("coming") or (not self._kinds and self._says("resolved"))):
            return Intent.STATUS_QUESTION
        if not self._kinds and self._says("status_weak"):
            return Intent.STATUS_QUESTION
        return None

    def _closing(self) -> Intent | None:
        if self._is_only("help_words") or (not self._kinds and self._says("help")):
            return Intent.HELP
        if not self._kinds and self._says("resolved") and not self._has_question_mark():
            # Somebody's burnt rice is over, but nothing was ever wrong.
            return Intent.OTHER if self._says("own_doing") else Intent.RESOLVED
        return None

    def _reply(self, *, asked: bool) -> Intent | None:
        """A text that reads as a reply though the question is not known."""
        short = len(self._plain.split()) <= _LONGEST_FRAGMENT
        told = (
            any(map(self._says, _REPLIES))
            or (self._kinds <= {Kind.OTHER} and self._says("access"))
            or ((asked or not self._firm) and any(map(self._says, _REPORTS)))
            or (short and (self._says("fragment") or self._is_scrap()))
            or (short and self._is_offhand())
            or (not self._kinds and any(map(self._says, _WEAK_REPLIES)))
            or (asked and not self._kinds and self._says("ok"))
        )
        return Intent.ANSWER if told else None

    def _is_offhand(self) -> bool:
        """Something short that only makes sense after a question: "just me and my wife"."""
        return not self._kinds and not self._has_question_mark() and self._says("offhand")

    def _is_scrap(self) -> bool:
        """Whether all words only name a room, a time or a number: "en todos los cuartos"."""
        line = self._line
        spoken = [g for g in range(len(line.groups)) if not line.is_break(g)]
        named = any(line.is_a(g, name) for g in spoken for name in _NAMING)
        return named and all(any(line.is_a(g, name) for name in _SCRAP) for g in spoken)

    def _rest(self, states: bool) -> Intent:
        if self._says("policy") and self._kinds <= {Kind.OTHER}:
            return Intent.OTHER
        if self._kinds or self._says("please_send") or self._says("persists"):
            return Intent.COMPLAINT
        # Nobody tells us unasked how a window or a valve is if nothing is wrong with it.
        of_home = states or self._says("equipment")
        if self._is_question():
            return Intent.STATUS_QUESTION if self._asks_for_help() else Intent.OTHER
        return Intent.ANSWER if of_home else self._left_over()

    def _asks_for_help(self) -> bool:
        """A question that names a visit, somebody coming or something mended, and no other matter."""
        return self._says("of_visit") and not self._says("aside")

    def _left_over(self) -> Intent:
        """Words about nothing known: short ones reply, longer ones tell that something is wrong."""
        spoken = self._plain.split()
        if self._says("aside") or not any(word in vocabulary().known for word in spoken):
            return Intent.OTHER
        return Intent.ANSWER if len(spoken) <= _LONGEST_FRAGMENT else Intent.COMPLAINT

    def _is_question(self) -> bool:
        return self._says("asks") or self._has_question_mark()

    def _has_question_mark(self) -> bool:
        return any(word.text in _QUESTION_MARKS for word in self._line.words)


def _keywords(name: str) -> frozenset[str]:
    made = _KEYWORDS.get(name)
    if made is None:
        forms = re.split(r",\s+", table("phrases")["keywords"][name])
        made = frozenset(" ".join(m.group() for m in pieces(form)) for form in forms)
        _KEYWORDS[name] = made
    return made


_KEYWORDS: dict[str, frozenset[str]] = {}
