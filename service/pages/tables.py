"""Tables to take away as comma-separated values that no spreadsheet takes for a formula.

The form is that of RFC 4180: lines end with CR LF, a field with a comma, a quote or a line end stands in
quotes, a quote is doubled. A field that a spreadsheet would compute begins with an apostrophe (OWASP,
CSV injection); numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import Response

from service.pages.words import clean

__all__ = ["Cell", "csv_answer", "csv_text", "local_cell"]

Cell = str | float | int | None

_COMPUTES = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """The table; None is an empty field."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def csv_answer(name: str, head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Response:
    """The same as a file to save; ``name`` is plain ASCII."""
    return Response(
        csv_text(head, rows),
        media_type="text/csv; charset=utf-8; header=present",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def local_cell(at: datetime | None, timezone: str) -> str | None:
    """An instant in the building's time with its offset, to the second (RFC 3339)."""
    return None if at is None else at.astimezone(ZoneInfo(timezone)).isoformat(timespec="seconds")


def _harmless(cell: Cell) -> Cell:
    if not isinstance(cell, str):
        return cell
    text = str(clean(cell))
    return f"'{text}" if text.startswith(_COMPUTES) else text
