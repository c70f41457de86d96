"""Mail headers read with limits on everything, so that no header can cost more than it is worth.

The standard library's full address and date grammar is superlinear on hostile input; nothing here
uses it. Lines are cut into names and values by hand, parameters are read with the old, linear
policy, and whatever cannot be read is left out.
"""

from __future__ import annotations

import email.header
import email.utils
import hashlib
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from email.errors import HeaderParseError
from email.message import Message
from email.policy import compat32

__all__ = [
    "Headers",
    "content_type",
    "decoded",
    "is_automatic",
    "message_id",
    "parameter",
    "read_headers",
    "sent_at",
    "to_text",
]

Headers = Mapping[str, tuple[str, ...]]

BLOCK_LONGEST = 64 * 1024
VALUE_LONGEST = 2048
HEADERS_MOST = 200
RECEIVED_MOST = 25  # more hops than any honest way: a loop
ID_LONGEST = 250

# Encodings of text people send; utf-7 and the codecs that are not character sets stay out.
_CHARSET_NAMES = (
    "us-ascii ascii utf-8 utf8 utf-16 utf-16le utf-16be iso-8859-2 iso-8859-7 iso-8859-15 "
    "windows-1250 windows-1251 windows-1252 windows-1254 cp1252 koi8-r gb2312 gbk gb18030 big5 "
    "shift_jis iso-2022-jp euc-kr"
)
_CHARSETS = frozenset(_CHARSET_NAMES.split())
# What the standard library raises on mail that breaks the rules.
_MALFORMED = (ValueError, TypeError, ArithmeticError, LookupError, AttributeError, HeaderParseError)
_NAME = re.compile(rb"[!-9;-~]{1,80}")
_BREAK = re.compile(rb"\r\n|\r|\n")


def to_text(content: bytes, charset: str | None) -> str:
    """Bytes as text: the declared encoding if it is a known one, else UTF-8, else Windows-1252."""
    declared = (charset or "").strip().lower()
    for name in (declared if declared in _CHARSETS else "utf-8", "utf-8"):
        try:
            return content.decode(name).removeprefix("\ufeff")
        except UnicodeError:
            continue
    return content.decode("cp1252", errors="replace")


def read_headers(block: bytes) -> Headers:
    """Lower-case names with their values in order; long values are cut, odd lines left out."""
    found: dict[str, list[str]] = {}
    name, parts, count = "", [b""], 0
    for line in (*_BREAK.split(block[:BLOCK_LONGEST]), b"end:"):
        if line[:1] in {b" ", b"\t"}:
            parts.append(line)
            continue
        if name:
            unfolded = b"".join(parts)[:VALUE_LONGEST].strip()
            found.setdefault(name, []).append(to_text(unfolded, None))
        raw_name, colon, value = line.partition(b":")
        name, parts = "", [value]
        if colon and _NAME.fullmatch(raw_name) and count < HEADERS_MOST:
            name, count = raw_name.decode("ascii").lower(), count + 1
    return {key: tuple(values) for key, values in found.items()}


def _parsed(headers: Headers, name: str) -> Message:
    """One header as the standard library's message, for its parameters."""
    message = Message(policy=compat32)
    value = next(iter(headers.get(name, ())), None)
    if value is not None:
        message[name] = value.encode("ascii", "replace").decode("ascii")
    return message


def content_type(headers: Headers) -> str:
    """The media type, text/plain when it says nothing usable."""
    try:
        return _parsed(headers, "content-type").get_content_type()
    except _MALFORMED:
        return "text/plain"


def parameter(headers: Headers, name: str, header: str = "content-type") -> str | None:
    """A parameter of a header, as text."""
    try:
        value = _parsed(headers, header).get_param(name, header=header)
    except _MALFORMED:
        return None
    if isinstance(value, tuple):  # RFC 2231: charset, language, value
        value = value[2]
    return value if isinstance(value, str) else None


def decoded(value: str) -> str:
    """A header value with its encoded words decoded; as it stands when that fails."""
    try:
        pieces = email.header.decode_header(value[:VALUE_LONGEST])
    except _MALFORMED:
        return value
    words = (
        to_text(piece, charset) if isinstance(piece, bytes) else piece for piece, charset in pieces
    )
    return "".join(words).strip()


def message_id(headers: Headers, body: bytes) -> str:
    """The sender's own id as written; without one, a hash of sender, date and content."""
    given = "".join(next(iter(headers.get("message-id", ())), "").split())
    if given and len(given) <= ID_LONGEST and given.isprintable():
        return given
    digest = hashlib.sha256(given.encode("utf-8", "replace"))
    for name in ("from", "date"):
        digest.update(b"\0" + "\0".join(headers.get(name, ())).encode("utf-8", "replace"))
    digest.update(b"\0" + body)
    return f"sha256:{digest.hexdigest()}"


def sent_at(headers: Headers) -> datetime | None:
    """The Date header in UTC; None when it is missing or not a time of this age."""
    written = next(iter(headers.get("date", ())), "")[:100]
    try:
        when = email.utils.parsedate_to_datetime(written)
        when = when.replace(tzinfo=UTC) if when.tzinfo is None else when.astimezone(UTC)
    except _MALFORMED:
        return None
    return when if 2000 <= when.year < 2100 else None


def is_automatic(headers: Headers) -> bool:
    """Whether a program wrote the mail, so that no answer may go back (RFC 3834)."""

    def says(name: str) -> str:
        return next(iter(headers.get(name, ())), "").strip().lower()

    return (
        says("auto-submitted").split(";")[0].strip() not in {"", "no"}
        or says("precedence") in {"bulk", "list", "junk", "auto_reply"}
        or any(name.startswith("list-") for name in headers)
        or says("return-path") == "<>"
        or "x-autoreply" in headers
        or content_type(headers) == "multipart/report"
        or len(headers.get("received", ())) > RECEIVED_MOST
    )
