"""Characters that no database can hold, replaced: halves of pairs and NUL.

JSON may spell them (``"\\ud800"``), and one that got into a stored document could neither be shown nor
sent again.
"""

from __future__ import annotations

import re
from typing import Any

__all__ = ["printable", "printable_json"]

# UTF-8 has no place for half a surrogate pair (RFC 3629, 3), PostgreSQL none for NUL.
UNPRINTABLE = re.compile("[\x00\ud800-\udfff]")


def printable(text: str) -> str:
    """The text with each of them as U+FFFD, the replacement character."""
    return UNPRINTABLE.sub("\ufffd", text)


def printable_json(value: Any) -> Any:
    """The same for every string of a JSON value, names of members too.

    Raises:
        RecursionError: it is nested too deeply.
    """
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, list):
        return [printable_json(one) for one in value]
    if isinstance(value, dict):
        return {printable(name): printable_json(one) for name, one in value.items()}
    return value
