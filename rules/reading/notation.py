"""The notation of ``phrases.yaml``, compiled to regular expressions over a line of signs.

Theory of operation
-------------------
A phrase is written as ``HEAT .3 NEG LIGHT* WORK``. Capitals are classes, small letters are the words
themselves, ``a_b`` two words in a row, ``/`` means or, ``?`` zero or one, ``*`` up to four. ``.3`` is a
gap of up to three words without a negation (and without a number, where a section reads numbers);
``~3`` a gap that may hold anything but the end of a sentence; ``&3`` one that passes commas, but none of
the ``things`` of a section, so that what comes after it belongs to what stands before it; a thing that
only says where ("in the bathroom": ``places``) is passed over. ``=3`` is the same without a negation.
``^ $`` are the ends of the text, ``< >`` of a clause, ``|`` is punctuation that may be left out where it
is ``|?``, ``!X`` means that X does not follow.

Each class and each word has a sign, a character of its own; each word of a text is the signs of what
it is and an end mark.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = [
    "END",
    "FIRST_SIGN",
    "STRONG",
    "WEAK",
    "Gaps",
    "Pattern",
    "compiled",
]

END, WEAK, STRONG = "\x01", "\x02", "\x03"
FIRST_SIGN = 0x4E00
_ANY = "[^\x01-\x03]*"
_ENDS = {
    "^": r"\A[\x02\x03]*",
    "$": r"[\x02\x03]*\Z",
    "<": r"(?:\A|(?<=[\x02\x03]))",
    ">": r"(?=[\x02\x03]|\Z)",
    "|": r"[\x02\x03]+",
    "|?": r"[\x02\x03]*",
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """A phrase as an expression, and what a line must hold to say it: one sign of each of its needs."""

    expression: re.Pattern[str]
    needs: tuple[frozenset[str], ...]
    numbers: int


@dataclass(frozen=True, slots=True)
class Gaps:
    """The classes over which the gaps of a section do not reach, and its mere places, see above."""

    solid: Sequence[str]
    things: Sequence[str] = ()
    places: str = ""


def compiled(text: str, sign: Callable[[str], str], gaps: Gaps) -> Pattern:
    """A phrase; ``sign`` gives the sign of a name."""
    parts: list[str] = []
    needs: dict[frozenset[str], None] = {}
    numbers = 0
    for token in text.split():
        fixed = _fixed(token, sign, gaps)
        if fixed is not None:
            parts.append(fixed)
            continue
        ahead, body, often = _taken_apart(token)
        element, signs = _element(body.split("/"), sign)
        if body == "NUM" and not ahead and not often:
            element, numbers = f"({element})", numbers + 1
        parts.append(_part(element, ahead=ahead, often=often))
        if not ahead and not often:
            needs[frozenset(signs)] = None
    return Pattern(re.compile("".join(parts)), tuple(needs), numbers)


def _part(element: str, *, ahead: bool, often: str) -> str:
    return f"(?!{element})" if ahead else f"(?:{element}){often}"


def _element(names: Sequence[str], sign: Callable[[str], str]) -> tuple[str, str]:
    """One of the names, as an expression, and the signs of which a line needs one.

    A literal of several words is those words in a row, so that it hides none of them, or its own
    sign on the first, where a phrase of a class hides them.
    """
    signs = "".join(sorted({sign(name) for name in names}))
    rows = [[sign(part) for part in name.split("_") if part] for name in names if "_" in name]
    ways = ["".join(map(_one_of, row)) for row in rows] + [_one_of(signs)]
    return "|".join(ways), signs


def _one_of(signs: str) -> str:
    return f"{_ANY}[{signs}]{_ANY}{END}"


def _fixed(token: str, sign: Callable[[str], str], gaps: Gaps) -> str | None:
    if token in _ENDS:
        return _ENDS[token]
    if not token[1:].isdigit():
        return None
    often = f"{{0,{token[1:]}}}?"
    if token[0] == ".":
        return f"(?:[^\x01-\x03{_signs(gaps.solid, sign)}]*{END}){often}"
    if token[0] in "&=":
        stops = [*gaps.things, *(gaps.solid if token[0] == "=" else ())]
        passed = f"[^\x01-\x03{_signs(stops, sign)}]*[\x01\x02]"
        return f"(?:{passed}{_place(gaps, sign)}){often}"
    return f"(?:{_ANY}[\x01\x02]){often}" if token[0] == "~" else None


def _signs(names: Sequence[str], sign: Callable[[str], str]) -> str:
    return "".join(sign(name) for name in names)


def _place(gaps: Gaps, sign: Callable[[str], str]) -> str:
    """The phrase of a mere place, as one more thing that a gap passes."""
    parts = []
    for token in gaps.places.split():
        _, body, often = _taken_apart(token)
        parts.append(_part(_element(body.split("/"), sign)[0], ahead=False, often=often))
    return "|" + "".join(parts) if parts else ""


def _taken_apart(token: str) -> tuple[bool, str, str]:
    """Whether it is a look ahead, the names, and how often they may come."""
    ahead = token[0] == "!"
    body = token[1:] if ahead else token
    if body[-1] == "?":
        return ahead, body[:-1], "?"
    if body[-1] == "*":
        return ahead, body[:-1], "{0,4}"
    return ahead, body, ""
