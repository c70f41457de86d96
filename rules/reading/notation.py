"""The notation of ``phrases.yaml``, compiled to regular expressions over a line of signs.

Theory of operation
-------------------
A phrase is written as ``HEAT .3 NEG LIGHT* WORK``. Capitals are classes, small letters are the words
themselves, ``a_b`` two words in a row, ``/`` means or, ``?`` zero or one, ``*`` up to four. ``.3`` is a
gap of up to three words without a negation (and without a number, where a section reads numbers);
``~3`` a gap that may hold anything but the end of a sentence. ``^ $`` are the ends of the text, ``< >``
of a clause, ``!X`` means that X does not follow.

Each class and each word has a sign, a character of its own; each word of a text is the signs of what
it is and an end mark.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = ["END", "FIRST_SIGN", "STRONG", "WEAK", "Pattern", "bits_of", "compiled"]

END, WEAK, STRONG = "\x01", "\x02", "\x03"
FIRST_SIGN = 0x4E00
_ANY = "[^\x01-\x03]*"
_ENDS = {
    "^": r"\A[\x02\x03]*",
    "$": r"[\x02\x03]*\Z",
    "<": r"(?:\A|(?<=[\x02\x03]))",
    ">": r"(?=[\x02\x03]|\Z)",
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """A phrase as an expression; ``need`` and ``needs`` are bits of signs that a line must hold.

    Each of them stands for one part of the phrase, of whose signs the line must hold one.
    """

    expression: re.Pattern[str]
    need: int
    needs: tuple[int, ...]
    numbers: int


def bits_of(signs: str) -> int:
    """One bit for each sign."""
    bits = 0
    for sign in signs:
        bits |= 1 << (ord(sign) - FIRST_SIGN)
    return bits


def compiled(text: str, sign: Callable[[str], str], no_gap: Sequence[str]) -> Pattern:
    """A phrase; ``sign`` gives the sign of a name, no gap reaches over the classes ``no_gap``."""
    parts: list[str] = []
    needs: list[int] = []
    numbers = 0
    for token in text.split():
        fixed = _fixed(token, sign, no_gap)
        if fixed is not None:
            parts.append(fixed)
            continue
        ahead, body, often = _taken_apart(token)
        element, signs = _element(body.split("/"), sign)
        if body == "NUM" and not ahead and not often:
            element, numbers = f"({element})", numbers + 1
        parts.append(f"(?!{element})" if ahead else f"(?:{element}){often}")
        if not ahead and not often:
            needs.append(bits_of(signs))
    needs.sort(key=int.bit_count)
    # A phrase of nothing that must come may be said by any line.
    rarest, *others = needs or [-1]
    return Pattern(re.compile("".join(parts)), rarest, tuple(others), numbers)


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


def _fixed(token: str, sign: Callable[[str], str], no_gap: Sequence[str]) -> str | None:
    if token in _ENDS:
        return _ENDS[token]
    if token[0] == "." and token[1:].isdigit():
        solid = "".join(sign(name) for name in no_gap)
        return f"(?:[^\x01-\x03{solid}]*{END}){{0,{token[1:]}}}?"
    if token[0] == "~" and token[1:].isdigit():
        return f"(?:{_ANY}[\x01\x02]){{0,{token[1:]}}}?"
    return None


def _taken_apart(token: str) -> tuple[bool, str, str]:
    """Whether it is a look ahead, the names, and how often they may come."""
    ahead = token[0] == "!"
    body = token[1:] if ahead else token
    if body[-1] == "?":
        return ahead, body[:-1], "?"
    if body[-1] == "*":
        return ahead, body[:-1], "{0,4}"
    return ahead, body, ""
