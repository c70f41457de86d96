"""How many SMS a text costs, and the spelling that keeps it cheap.

A text whose characters are all in the GSM 7-bit alphabet (3GPP TS 23.038, clause 6.2.1) is counted
in septets: 160 in a single message, 153 in each part of a longer one, because the header that
joins the parts takes seven of them (3GPP TS 23.040). One other character makes the whole text
UCS-2: 70 units, or 67 in each part. A character that takes two septets or two units is never cut.
"""

from __future__ import annotations

import unicodedata

__all__ = ["fold", "is_gsm", "segments", "split"]

_GSM_BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_GSM_EXTENSION = frozenset("\f^{}\\[~]|€")  # an escape septet and one more each
_GSM = _GSM_BASIC | _GSM_EXTENSION

_GSM_SINGLE, _GSM_PART = 160, 153
_UCS2_SINGLE, _UCS2_PART = 70, 67

# Characters that have no decomposition of their own, or whose decomposition reads badly.
_SPELLED = {
    **dict.fromkeys("‘’‚‛′´`ʼ", "'"),
    **dict.fromkeys("“”„‟″«»", '"'),
    **dict.fromkeys("‐‑‒–—―−•·", "-"),
    **dict.fromkeys("\t\v\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006", " "),
    **dict.fromkeys("\u2007\u2008\u2009\u200a\u202f\u205f\u3000", " "),
    **dict.fromkeys("\u2028\u2029\u0085", "\n"),
    "°": "",
    "…": "...",
    "⁄": "/",
    "œ": "oe",
    "Œ": "OE",
    "ł": "l",
    "Ł": "L",
    "đ": "d",
    "Đ": "D",
    "ı": "i",
}
_INVISIBLE = frozenset({"Cc", "Cf"})  # controls, zero-width characters, direction marks


def fold(text: str) -> str:
    """The same text in GSM 7-bit characters as far as it can be read that way.

    Accents the alphabet lacks go (a for á), those it has stay (é, ñ, ü); typographic quotes and
    dashes become plain. Other scripts and pictures stay as they are.
    """
    return "".join(_folded(character) for character in unicodedata.normalize("NFC", text))


def _folded(character: str) -> str:
    if character in _GSM:
        return character
    if character in _SPELLED:
        return _SPELLED[character]
    if unicodedata.category(character) in _INVISIBLE:
        return ""
    decomposed = unicodedata.normalize("NFKD", character)
    plain = "".join(_SPELLED.get(one, one) for one in decomposed if not unicodedata.combining(one))
    return plain if plain and is_gsm(plain) else character


def is_gsm(text: str) -> bool:
    """Whether every character is in the GSM 7-bit alphabet or its extension table."""
    return _GSM.issuperset(text)


def split(text: str) -> tuple[str, ...]:
    """The text as the parts it is sent in."""
    if is_gsm(text):
        widths = [2 if character in _GSM_EXTENSION else 1 for character in text]
        return _parts(text, widths, _GSM_SINGLE, _GSM_PART)
    widths = [2 if ord(character) > 0xFFFF else 1 for character in text]
    return _parts(text, widths, _UCS2_SINGLE, _UCS2_PART)


def _parts(text: str, widths: list[int], single: int, part: int) -> tuple[str, ...]:
    if sum(widths) <= single:
        return (text,)
    parts: list[str] = []
    start, used = 0, 0
    for index, width in enumerate(widths):
        if used + width > part:
            parts.append(text[start:index])
            start, used = index, 0
        used += width
    return (*parts, text[start:])


def segments(text: str) -> int:
    """How many SMS the text is charged as; an empty one still counts as one."""
    return len(split(text))
