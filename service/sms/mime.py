"""Takes the tenant's words out of a mail, whatever the mail looks like.

Theory of operation: gateways send a text as a plain body, as a text attachment beside a picture, as
HTML, or only in the subject; anybody may send anything. The mail is cut into parts by hand, with a
limit on size, depth, number of parts and decoded bytes, so that the cost is bounded by the size the
intake accepts. Words are taken from the first of these that has any: text shown inline, a text
attachment, HTML, the subject. A mail that yields none is "unreadable" and says why; nothing raises.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import quopri
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from service.sms.headers import (
    BLOCK_LONGEST,
    Headers,
    content_type,
    decoded,
    is_automatic,
    message_id,
    parameter,
    read_headers,
    sent_at,
    to_text,
)
from service.sms.wording import cleaned, from_html, without_quotes

__all__ = ["Head", "Mail", "mail_text", "read_head", "read_mail"]

RAW_LONGEST = 1024 * 1024
PARTS_MOST = 50
DEPTH_MOST = 10
DECODED_LONGEST = 64 * 1024  # of one part; sixteen times what is kept as text
_NOT_BASE64 = re.compile(rb"[^A-Za-z0-9+/]")
_SPACED_WORDS = re.compile(rb"[A-Za-z] [A-Za-z]")  # never inside base64: labelled wrongly
_HEAD_END = re.compile(rb"\r?\n\r?\n|\r\r")


@dataclass(frozen=True, slots=True)
class Head:
    """What is known of a mail before its content is looked at."""

    message_id: str
    sent_at: datetime | None = None
    from_headers: tuple[str, ...] = ()
    automatic: bool = False  # written by a program: never answered


@dataclass(frozen=True, slots=True)
class Mail:
    """One mail, as far as it could be read."""

    head: Head
    text: str
    unreadable: str | None  # why there is no text: "no_text", "only_quoted", "broken"


@dataclass(frozen=True, slots=True)
class _Part:
    headers: Headers
    body: bytes
    kind: str
    attached: bool


def read_head(raw: bytes) -> Head:
    """The headers alone, which is all that storing needs; never raises."""
    try:
        return _head(*_cut(raw[:RAW_LONGEST]))
    except Exception:  # noqa: BLE001 - an unreadable mail must be stored all the same
        return Head(_digest(raw))


def read_mail(raw: bytes) -> Mail:
    """The mail's words and what is known about it; never raises."""
    try:
        headers, body = _cut(raw[:RAW_LONGEST])
        words = _words(headers, body)
        text = without_quotes(words)
        unreadable = None if text else ("only_quoted" if words else "no_text")
        return Mail(_head(headers, body), text, unreadable)
    except Exception:  # noqa: BLE001 - a mail nobody can read must not stop the inbox
        return Mail(Head(_digest(raw)), "", "broken")


def mail_text(raw: bytes) -> str | None:
    """The mail's words; None when there are none to read."""
    return read_mail(raw).text or None


def _head(headers: Headers, body: bytes) -> Head:
    return Head(
        message_id=message_id(headers, body),
        sent_at=sent_at(headers),
        from_headers=headers.get("from", ()),
        automatic=is_automatic(headers),
    )


def _digest(raw: bytes) -> str:
    return f"sha256:{hashlib.sha256(raw).hexdigest()}"


def _words(headers: Headers, body: bytes) -> str:
    parts = list(_parts(headers, body))
    plain = [part for part in parts if part.kind == "text/plain"]
    html = [part for part in parts if part.kind == "text/html"]
    for part in sorted(plain, key=lambda part: part.attached) + html:
        text = _part_text(part)
        if text:
            return text
    return cleaned(decoded(next(iter(headers.get("subject", ())), "")))


def _cut(raw: bytes) -> tuple[Headers, bytes]:
    """A part's headers and the rest; one that starts with an empty line has no headers."""
    start = re.match(rb"\r?\n", raw)
    if start:
        return {}, raw[start.end() :]
    end = _HEAD_END.search(raw)
    if end is None:
        return read_headers(raw), b""
    head = read_headers(raw[: min(end.start(), BLOCK_LONGEST)])
    return head, raw[end.end() :]


def _parts(headers: Headers, body: bytes) -> Iterator[_Part]:
    """The leaves in reading order, at most so many and so deep."""
    waiting = [(headers, body, 0)]
    budget = PARTS_MOST
    while waiting and budget > 0:
        headers, body, depth = waiting.pop()
        budget -= 1
        kind = content_type(headers)
        inner = _inner(headers, body) if kind.startswith("multipart/") else None
        if inner and depth < DEPTH_MOST:
            waiting.extend((*_cut(piece), depth + 1) for piece in reversed(inner[:PARTS_MOST]))
            continue
        if kind.startswith("multipart/"):
            kind = "text/plain"  # its boundary never comes: the text must not get lost
        yield _Part(headers, body, _plain_by_name(kind, headers), _is_attached(headers))


def _inner(headers: Headers, body: bytes) -> list[bytes]:
    """The pieces between the boundary's lines; none when the boundary is missing or never comes."""
    boundary = (parameter(headers, "boundary") or "").strip()[:200]
    if not boundary:
        return []
    mark = re.escape(b"--" + boundary.encode("utf-8", "replace"))
    pieces: list[bytes] = []
    start: int | None = None
    for line in re.finditer(rb"(?:^|\r?\n)" + mark + rb"(--)?[ \t]*(?=\r?\n|\Z)", body):
        if start is not None:
            pieces.append(body[start : line.start()])
        if line.group(1) or len(pieces) >= PARTS_MOST:
            return pieces
        start = line.end() + (2 if body[line.end() : line.end() + 2] == b"\r\n" else 1)
    if start is not None and start < len(body):
        pieces.append(body[start:])  # the last boundary is missing
    return pieces


def _is_attached(headers: Headers) -> bool:
    disposition = next(iter(headers.get("content-disposition", ())), "")
    return disposition.lstrip().lower().startswith("attachment")


def _plain_by_name(kind: str, headers: Headers) -> str:
    """Some gateways send the words as a nameless kind of file called something.txt."""
    if kind != "application/octet-stream":
        return kind
    names = (
        parameter(headers, "filename", "content-disposition"),
        parameter(headers, "name"),
    )
    return "text/plain" if any((name or "").lower().endswith(".txt") for name in names) else kind


def _part_text(part: _Part) -> str:
    """A part's text; empty when it cannot be decoded."""
    try:
        content = _decoded_bytes(part)[:DECODED_LONGEST]
        text = to_text(content, parameter(part.headers, "charset"))
        if part.kind == "text/html":
            return cleaned(from_html(text))
        return cleaned(_unflowed(text, part.headers))
    except (ValueError, AssertionError, RecursionError):
        return ""


def _decoded_bytes(part: _Part) -> bytes:
    encoding = next(iter(part.headers.get("content-transfer-encoding", ())), "").strip().lower()
    body = part.body[: 2 * DECODED_LONGEST]
    if encoding == "quoted-printable":
        return quopri.decodestring(body)
    if encoding == "base64":
        return body if _SPACED_WORDS.search(body) else _from_base64(body)
    if encoding in {"x-uuencode", "uuencode", "uue", "x-uue"}:
        return _uudecoded(body)
    return body


def _from_base64(body: bytes) -> bytes:
    """Junk between the letters is skipped, an incomplete end is completed or dropped."""
    letters = _NOT_BASE64.sub(b"", body)
    rest = len(letters) % 4
    if rest == 1:  # one letter alone carries no byte
        letters, rest = letters[:-1], 0
    return base64.b64decode(letters + b"=" * (-rest % 4))


def _uudecoded(body: bytes) -> bytes:
    lines = body.splitlines()
    first = next((i for i, line in enumerate(lines) if line.startswith(b"begin ")), -1)
    found: list[bytes] = []
    for line in lines[first + 1 :]:
        if line.strip() in {b"end", b"`", b""}:
            break
        try:
            found.append(binascii.a2b_uu(line))
        except binascii.Error:
            continue
    return b"".join(found)


def _unflowed(text: str, headers: Headers) -> str:
    """Joins the soft line ends of format=flowed (RFC 3676)."""
    if (parameter(headers, "format") or "").lower() != "flowed":
        return text
    keep = "" if (parameter(headers, "delsp") or "").lower() == "yes" else " "
    text = text.replace("\r\n", "\n")
    joined: list[str] = []
    for line in text.split("\n"):
        if joined and joined[-1].endswith(" ") and joined[-1] != "-- " and line[:1] != ">":
            joined[-1] = joined[-1][:-1] + keep + line
        else:
            joined.append(line)
    return "\n".join(joined)
