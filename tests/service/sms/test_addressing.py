"""Numbers and addresses, and what must not pass for one."""

from __future__ import annotations

import pytest

from service.sms.addressing import address_of, e164, number_at, number_in_from

DOMAIN = "sms.example"


@pytest.mark.parametrize(
    ("written", "number"),
    [
        # phonenumbers (libphonenumber metadata), region US
        ("(212) 555-0123", "+12125550123"),
        ("2125550123", "+12125550123"),
        ("12125550123", "+12125550123"),
        ("+12125550123", "+12125550123"),
        ("12345", None),
        ("911", None),
        ("+19005550123", None),  # a number that charges whoever sends to it
        ("anna", None),
        ("", None),
    ],
)
def test_numbers_are_brought_to_one_form(written: str, number: str | None) -> None:
    """Every spelling of a number is one E.164 number; short codes and words are none."""
    assert e164(written) == number


@pytest.mark.parametrize(
    ("address", "number"),
    [
        ("2125550123@sms.example", "+12125550123"),
        ("+12125550123@SMS.Example", "+12125550123"),
        ("2125550123@sms.example.evil.example", None),
        ("2125550123@evil.example", None),
        ("x2125550123@sms.example", None),
        ("212555012@sms.example", None),
        ("٢١٢٥٥٥٠١٢٣@sms.example", None),  # digits, but not ASCII
        ("2125550123", None),
        ("<>", None),
        (None, None),
    ],
)
def test_only_a_number_at_the_gateway_is_a_number(address: str | None, number: str | None) -> None:
    """The local part must be all digits and the domain exactly the gateway's."""
    assert number_at(address, DOMAIN) == number


@pytest.mark.parametrize(
    ("values", "number"),
    [
        (("2125550123@sms.example",), "+12125550123"),
        (("Anna <2125550123@sms.example>",), "+12125550123"),
        (('"a@evil.example," <2125550123@sms.example>',), "+12125550123"),
        (('"abc <2125550123@sms.example>',), None),  # the quote never ends
        (("2125550123@sms.example <a@evil.example>",), None),
        (("2125550123@sms.example, a@evil.example",), None),
        (("2125550123@sms.example", "2125550124@sms.example"), None),  # two headers
        (("undisclosed:;",), None),
        (("2125550123",), None),
        (("",), None),
        ((), None),
        (('"' * 20_000,), None),
        (("(" * 1000,), None),
    ],
)
def test_the_from_header_is_believed_only_when_plain(
    values: tuple[str, ...], number: str | None
) -> None:
    """One header, one address, nothing that two readers could read differently."""
    assert number_in_from(values, DOMAIN) == number


def test_a_number_and_its_address_belong_together() -> None:
    """What we send to reads back as the same number."""
    assert number_at(address_of("+12125550123", DOMAIN), DOMAIN) == "+12125550123"
