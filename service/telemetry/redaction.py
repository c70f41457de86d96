"""Keeps people out of the log: no numbers, addresses, names, texts or secrets."""

from __future__ import annotations

import re
from collections.abc import Mapping, MutableMapping
from typing import Any

__all__ = ["redact", "redacted"]

LEFT_OUT = "[left out]"
DEPTH_MOST = 4
# Keys whose value is about a person, or is a secret, whatever it looks like.
_PERSONAL_KEYS = (
    "text texts body name names mobile phone number from_number to_number from to sender "
    "recipient recipients email mail raw quote note subject address from_address to_address "
    "token bearer authorization cookie cookies password secret link"
)
_PERSONAL = frozenset(_PERSONAL_KEYS.split())
_TOKEN = re.compile(r"\bes_[a-z]+_[\w-]+")  # of every role
_ADDRESS = re.compile(r"[^\s<>@'\"]{1,80}@[^\s<>@'\"]{1,80}")
# Ten to fifteen digits (E.164) with the usual separators between them.
_NUMBER = re.compile(r"(?<!\d)\+?\(?\d(?:[\s().-]{0,2}\d){9,14}(?!\d)")


def redacted(value: Any, depth: int = 0) -> Any:
    """The value without anything that looks like a number, an address or a token."""
    if isinstance(value, str):
        return _plain(value)
    if isinstance(value, Mapping):
        if depth >= DEPTH_MOST:
            return LEFT_OUT
        return {key: _for_key(key, inner, depth + 1) for key, inner in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return LEFT_OUT if depth >= DEPTH_MOST else [redacted(one, depth + 1) for one in value]
    if value is None or isinstance(value, bool | int | float):
        return _whole_number(value)
    return _plain(str(value))


def _for_key(key: object, value: Any, depth: int) -> Any:
    if str(key).lower() in _PERSONAL and value is not None:
        return LEFT_OUT
    return redacted(value, depth)


def _whole_number(value: float | None) -> Any:
    long = isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 10**9
    return LEFT_OUT if long else value


def _plain(text: str) -> str:
    text = _TOKEN.sub("[token]", text)
    text = _ADDRESS.sub("[address]", text)
    return _NUMBER.sub("[number]", text)


def redact(
    _logger: object, _method: str, event: MutableMapping[str, Any]
) -> MutableMapping[str, Any]:
    """The structlog processor; private keys of the library are left alone."""
    for key in list(event):
        if not key.startswith("_"):
            event[key] = _for_key(key, event[key], 1)
    return event
