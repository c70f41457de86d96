"""Mail as gateways send it, and mail as nobody should send it."""

from __future__ import annotations

import base64
import gc
import time
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sms.mime import mail_text, read_mail

HEAD = b"From: 2125550123@sms.example\r\nTo: intake@endswitch.example\r\n"
IMAGE = b"--b\r\nContent-Type: image/jpeg\r\nContent-Transfer-Encoding: base64\r\n\r\n/9j/4AAQ\r\n"
MIXED = b'Content-Type: multipart/mixed; boundary="b"\r\n\r\n'
BUDGET_SECONDS = 0.2


def _mail(*lines: str | bytes) -> bytes:
    return HEAD + b"\r\n".join(x.encode() if isinstance(x, str) else x for x in lines)


SHAPES = {
    "plain": (_mail("", "No heat in 4B"), "No heat in 4B"),
    "text_attachment": (
        _mail(
            MIXED + IMAGE + b"--b",
            'Content-Type: text/plain; charset=utf-8; name="text_0.txt"',
            "Content-Disposition: attachment; filename=text_0.txt",
            "",
            "hace frío",
            "--b--",
        ),
        "hace frío",
    ),
    "octets_called_txt": (
        _mail(
            MIXED + b"--b",
            "Content-Type: application/octet-stream; name=text_0.txt",
            "Content-Transfer-Encoding: base64",
            "",
            base64.b64encode(b"radiator bangs"),
            "--b--",
        ),
        "radiator bangs",
    ),
    "html_only": (
        _mail(
            "Content-Type: text/html; charset=utf-8",
            "",
            "<html><head><title>t</title><style>p{}</style></head><body><p>No <b>heat</b></p>"
            "<script>if (a<b) alert(1)</script><div style='display:none'>secret</div>"
            "4B &amp; 5B<blockquote>our question</blockquote></body></html>",
        ),
        "No heat\n4B & 5B",
    ),
    "subject_only": (_mail("Subject: no heat 4B", "", ""), "no heat 4B"),
    "encoded_subject": (_mail("Subject: =?utf-8?Q?hace_fr=C3=ADo?=", "", ""), "hace frío"),
    "image_and_subject": (
        _mail(b"Subject: look\r\n" + MIXED + IMAGE + b"--b--"),
        "look",
    ),
    "quoted_printable": (
        _mail("Content-Transfer-Encoding: quoted-printable", "", "fr=C3=ADo =", "si"),
        "frío si",
    ),
    "latin1_undeclared": (_mail("", b"fr\xedo"), "frío"),  # reliability case 28
    "flowed": (
        _mail("Content-Type: text/plain; format=flowed; delsp=yes", "", "no he ", "at"),
        "no heat",
    ),
    "reply_above_quote": (
        _mail("", "2", "", "On Mon, Jan 5, 2026, Heating wrote:", "> Is it 1 hot 2 warm", "> 3"),
        "2",
    ),
    "reply_below_quote": (
        _mail("", "On Mon, Jan 5, 2026 at 9:01, Heating wrote:", "> Is it 1 hot 2 warm?", "2"),
        "2",
    ),
    "folded_quote_head": (
        _mail("", "tibio", "", "El lun, 5 ene 2026 a las 9:01, Heating", "escribió:", "pregunta"),
        "tibio",
    ),
    "footer": (_mail("", "still cold", "Sent from my phone"), "still cold"),
    "copied_head": (_mail("", "yes", "From: Heating", "Sent: Monday", "Is it right?"), "yes"),
    "signature": (_mail("", "cold", "-- ", "Anna"), "cold"),
    # text that must not get lost
    "no_boundary": (_mail("Content-Type: multipart/mixed", "", "no heat"), "no heat"),
    "boundary_never_comes": (_mail(MIXED + b"no heat"), "no heat"),
    "boundary_never_closes": (
        _mail(MIXED + b"--b", "Content-Type: text/plain", "", "no heat"),
        "no heat",
    ),
    "unknown_charset": (
        _mail("Content-Type: text/plain; charset=x-unknown-99", "", "no heat"),
        "no heat",
    ),
    "charset_not_of_text": (
        _mail("Content-Type: text/plain; charset=hex", "", "no heat"),
        "no heat",
    ),
    "charset_with_nul": (
        _mail(b'Content-Type: text/plain; charset="utf-8\x00"', "", "no heat"),
        "no heat",
    ),
    "utf7_stays_text": (
        _mail("Content-Type: text/plain; charset=utf-7", "", "+ADw-script+AD4-"),
        "+ADw-script+AD4-",
    ),
    "plain_called_base64": (
        _mail("Content-Transfer-Encoding: base64", "", "gas smell in the hall!"),
        "gas smell in the hall!",
    ),
    "base64_with_junk": (
        _mail("Content-Transfer-Encoding: base64", "", "bm8g!!aGVhdA"),
        "no heat",
    ),
    "uuencoded": (
        _mail(
            "Content-Transfer-Encoding: x-uuencode", "", "begin 644 t", "';F\\@:&5A=```", "`", "end"
        ),
        "no heat",
    ),
    "controls": (_mail("", b"no\x00 he\x0cat\rnow"), "no heat\nnow"),
    "words_with_on_and_wrote": (
        _mail("", "on top of that my neighbor wrote:", "he smells gas"),
        "on top of that my neighbor wrote:\nhe smells gas",
    ),
    # nothing to read
    "image_only": (_mail(MIXED + IMAGE + b"--b--"), None),
    "only_quoted": (_mail("Subject: Re: heat", "", "> Is it hot?", "> 1 yes"), None),
    "empty": (b"", None),
    "sealed": (_mail("Content-Type: application/pkcs7-mime", "", "MIIB"), None),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_the_tenants_words_come_out(shape: str) -> None:
    """Every shape of mail gives the words in it, or nothing when there are none."""
    raw, words = SHAPES[shape]
    assert mail_text(raw) == words


def _nested(depth: int, kind: str) -> bytes:
    if kind == "rfc822":
        return HEAD + b"Content-Type: message/rfc822\r\n\r\n" * depth + b"\r\nhi"
    levels = (
        b"Content-Type: multipart/mixed; boundary=b%d\r\n\r\n--b%d\r\n" % (n, n)
        for n in range(depth)
    )
    return HEAD + b"".join(levels) + b"\r\nhi"


HOSTILE = {
    "message_id_open": _mail("Message-ID: <", "", "hi"),
    "message_id_bracket": _mail("Message-ID: <[>", "", "hi"),
    "from_one_megabyte": b"From: " + b"a@b.example, " * 80_000 + b"\r\n\r\nhi",
    "from_quotes": b"From: " + b'"' * 20_000 + b"\r\n\r\nhi",
    "from_parentheses": b"From: " + b"(" * 1000 + b"\r\n\r\nhi",
    "two_from": HEAD + HEAD + b"\r\nhi",
    "date_year_zero": _mail("Date: Mon, 0 Jan 0000 00:00:00 +9999", "", "hi"),
    "date_words": _mail("Date: yesterday 25:61", "", "hi"),
    "date_huge": _mail("Date: 1 Jan 99999999999999999999 00:00:00 +0000", "", "hi"),
    "charset_idna": _mail("Content-Type: text/plain; charset=idna", "", b"\xff" * 1000),
    "base64_junk": _mail("Content-Transfer-Encoding: base64", "", "=" * 100_000),
    "nested_multiparts": _nested(2000, "multipart"),
    "nested_messages": _nested(500, "rfc822"),
    "ten_thousand_parts": _mail(MIXED + b"--b\r\n\r\n" * 10_000),
    "ten_thousand_headers": HEAD + b"X: y\r\n" * 10_000 + b"\r\nhi",
    "header_never_ends": b"X: " + b" a\r\n" * 80_000,
    "boundary_like_dashes": _mail(
        b"Content-Type: multipart/mixed; boundary=-\r\n\r\n" + b"-" * 300_000
    ),
    "boundary_lines": _mail(MIXED + b"\r\n--b" * 70_000),
    "parameters": _mail("Content-Type: text/plain" + '; a="\\' * 50_000, "", "hi"),
    "continued_parameters": _mail(
        "Content-Type: text/plain" + "".join(f"; name*{n}*=x" for n in range(300)), "", "hi"
    ),
    "encoded_words": _mail("Subject: " + "=?utf-8?B?" * 20_000, "", ""),
    "encoded_word_broken": _mail("Subject: =?utf-8?B?a?= =?x?Q?=zz?=", "", ""),
    "html_tags_never_end": _mail("Content-Type: text/html", "", "<a " * 100_000),
    "html_comments_never_end": _mail("Content-Type: text/html", "", "<!--" * 70_000),
    "html_declarations": _mail("Content-Type: text/html", "", "<![" * 70_000 + "<![a>"),
    "html_deep": _mail("Content-Type: text/html", "", "<div hidden>" * 25_000),
    "html_quotes": _mail("Content-Type: text/html", "", "<a b='" * 50_000),
    "html_entities": _mail("Content-Type: text/html", "", "&#x" * 90_000 + "&#99999999999;"),
    "on_on_on": _mail("", "On a " * 16_000),
    "from_lines": _mail("", "From: a\r\n" * 35_000),
    "quote_heads": _mail("", "On 1\r\nwrote:\r\n" * 20_000),
    "blank_lines": _mail("", "\r\n" * 140_000),
    "long_line": _mail("", "a" * 300_000),
    "spaces": _mail("", " " * 290_000 + "x"),
    "carriage_returns": b"\r" * 300_000,
    "line_feeds": b"\n" * 300_000,
    "filename": _mail(
        MIXED + b"--b\r\nContent-Disposition: attachment; filename*=x''..%2F..%2F%00\r\n\r\n--b--"
    ),
    "quoted_printable_junk": _mail(
        "Content-Transfer-Encoding: quoted-printable", "", "=" * 290_000
    ),
    "uuencode_junk": _mail(
        "Content-Transfer-Encoding: uuencode", "", "begin 6\r\n" + "M\r\n" * 90_000
    ),
    "surrogates": _mail("", b"\xed\xa0\x80\xff\xfe"),
}


@pytest.fixture(scope="module")
def _nothing_to_collect() -> Iterator[None]:
    """What is there already is not gone through while a mail is timed."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.mark.usefixtures("_nothing_to_collect")
@pytest.mark.parametrize("shape", HOSTILE)
def test_no_mail_raises_or_takes_long(shape: str) -> None:
    """Hostile mail of the size the intake accepts costs less than a fifth of a second."""
    started = time.process_time()
    mail = read_mail(HOSTILE[shape])
    took = time.process_time() - started
    assert took < BUDGET_SECONDS, f"{shape} took {took:.3f} s"
    assert len(mail.text) <= 4000
    assert len(mail.head.message_id) <= 250


@given(st.binary(max_size=3000))
def test_any_bytes_are_read(content: bytes) -> None:
    """Whatever arrives gives a mail with an id, and text no longer than a text may be."""
    assert read_mail(content).unreadable != "broken"
    assert read_mail(MIXED + content).head.message_id


def test_the_senders_id_is_kept_as_written() -> None:
    """The Message-ID is the id, brackets and all; without one, equal mails have equal ids."""
    assert (
        read_mail(_mail("Message-ID: <a@b.example>", "", "hi")).head.message_id == "<a@b.example>"
    )
    one, same, other = (
        read_mail(_mail("Date: Mon, 5 Jan 2026 09:00:00 -0500", "", text)).head.message_id
        for text in ("no heat", "no heat", "no heat!")
    )
    assert one == same != other


def test_the_date_header_is_read_in_utc() -> None:
    """RFC 5322 dates become UTC instants; impossible ones become nothing."""
    mail = read_mail(_mail("Date: Mon, 5 Jan 2026 21:00:00 -0500", "", "hi"))
    assert mail.head.sent_at == datetime(2026, 1, 6, 2, 0, tzinfo=UTC)
    assert read_mail(_mail("Date: yesterday 25:61", "", "hi")).head.sent_at is None


@pytest.mark.parametrize(
    ("header", "automatic"),
    [
        # RFC 3834 section 2 and 5.1
        ("Auto-Submitted: auto-replied", True),
        ("Auto-Submitted: auto-generated; owner-email=x", True),
        ("Auto-Submitted: no", False),
        ("Precedence: bulk", True),
        ("Precedence: first-class", False),
        ("List-Id: <x.example>", True),
        ("Return-Path: <>", True),
        ("Content-Type: multipart/report; report-type=delivery-status; boundary=b", True),
        ("\r\n".join(["Received: from endswitch.example"] * 26), True),
        ("\r\n".join(["Received: from endswitch.example"] * 3), False),
    ],
)
def test_mail_written_by_programs_is_known(header: str, automatic: bool) -> None:
    """Auto-replies, lists, bounces and loops are marked, so that nobody answers them."""
    assert read_mail(_mail(header, "", "I am away")).head.automatic is automatic
