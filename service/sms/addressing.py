"""Phone numbers as mail addresses, and back.

Only two things are believed: the envelope sender, and, when that is not a number at the gateway,
the one address of the one From header. Both must match completely; a name beside the address, an
address inside a name, or a quote that never ends proves nothing.
"""

from __future__ import annotations

import re

import phonenumbers

__all__ = ["address_of", "e164", "number_at", "number_in_from", "same_address"]

_LOCAL_PART = re.compile(r"\+?[0-9]{10,15}")
_FROM_LONGEST = 500
# A bare address, or one in angle brackets after a quoted or a plain name.
_BARE = re.compile(r"[^\s<>\",;:()]+")
_NAMED = re.compile(r"(?:\"[^\"\\]*\"|[^\"<>@,;:()\\]*)\s*<([^\s<>\",;:()]+)>")


def e164(written: str, region: str = "US") -> str | None:
    """A number as +<country><number>, or None when it cannot be one, or is of the kind that charges."""
    international = f"+{written}" if written.isdigit() and len(written) > 10 else written
    for candidate in dict.fromkeys((international, written)):
        try:
            parsed = phonenumbers.parse(candidate, region)
        except phonenumbers.NumberParseException:
            continue
        if phonenumbers.number_type(parsed) == phonenumbers.PhoneNumberType.PREMIUM_RATE:
            return None  # an answer would cost money
        if phonenumbers.is_possible_number(parsed):
            return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)
    return None


def number_at(address: str | None, domain: str) -> str | None:
    """The number of an address at the gateway's domain; None for any other address."""
    local, at, host = (address or "").rpartition("@")
    if not at or host.lower() != domain.lower() or not _LOCAL_PART.fullmatch(local):
        return None
    return e164(local)


def number_in_from(values: tuple[str, ...], domain: str) -> str | None:
    """The number in the From header; None unless there is exactly one header with one address."""
    if len(values) != 1 or len(values[0]) > _FROM_LONGEST:
        return None
    value = values[0].strip()
    if _BARE.fullmatch(value):
        return number_at(value, domain)
    named = _NAMED.fullmatch(value)
    return number_at(named.group(1), domain) if named else None


def address_of(number: str, domain: str) -> str:
    """Where the gateway takes texts for a number in E.164."""
    return f"{number}@{domain}"


def same_address(one: str, other: str) -> bool:
    """Whether two addresses are the same mailbox, capitals aside."""
    return one.strip().lower() == other.strip().lower()
