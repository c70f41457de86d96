"""How a person can be reached: mobile numbers and mail addresses as people write them."""

from __future__ import annotations

import re

import phonenumbers

__all__ = ["email_address", "mobile_number"]

HOME_REGION = "US"
_NUMBER = re.compile(r"\+?[\d\s().\-/\u00a0\u2010-\u2015]{5,40}")
_EMAIL = re.compile(r"[^\s@<>(),;:\"\\]{1,64}@(?:[\w-]{1,63}\.)+[\w-]{2,63}")
_SPREADSHEET = re.compile(r"\d(?:[.,]\d+)?[eE]\+?\d+")


def mobile_number(written: str) -> str | tuple[str, str]:
    """A number with its country code and a plus, or what is wrong and what is right.

    A number without a country code is read as one of the United States. What was written is not
    repeated in the answer: problems are printed and logged, and the number is somebody's.
    """
    if _SPREADSHEET.fullmatch(written):
        why = "A spreadsheet has rounded the mobile number."
        return why, "Format the column as text and enter the number again."
    example = "Write ten digits with the area code, or + and the country code."
    if not _NUMBER.fullmatch(written):
        return "The mobile number holds something that is not part of a number.", example
    try:
        number = phonenumbers.parse(written, HOME_REGION)
    except phonenumbers.NumberParseException:
        return "The mobile number cannot be read.", example
    if not phonenumbers.is_valid_number(number):
        return "The mobile number does not exist.", example
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def email_address(written: str) -> str | tuple[str, str]:
    """The address, or what is wrong and what is right."""
    if len(written) <= 254 and _EMAIL.fullmatch(written):
        return written
    return "The email address cannot be right.", "Write one address, such as name@house.example."
