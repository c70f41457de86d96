"""CSV as spreadsheets write it, to cells by column with the line each row starts on."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from rules.plant.files.problem import Problems, listed, nearest

__all__ = ["COLUMNS", "split_rows"]

COLUMNS = ("building", "apartment", "name", "mobile", "email", "language", "care")
_NEEDED = ("building", "apartment", "name")
_DELIMITERS = (",", ";", "\t")
_Row = tuple[int, list[str]]


def split_rows(text: str, problems: Problems) -> Iterator[tuple[int, dict[str, str]]]:
    """Each row as cells by column; none at all if the header cannot be used."""
    rows = _rows(text.removeprefix("\ufeff"), problems)
    line, header = next(rows, (1, []))
    columns = [cell.strip().casefold() for cell in header]
    if not _is_usable(columns, line, problems):
        return
    for row_line, cells in rows:
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
            detail = (
                f"This row has {len(cells)} cells, the first line names {len(columns)} columns."
            )
            remedy = "Put a cell that holds a delimiter into quotation marks."
            problems.add("", detail, remedy, line=row_line)
            continue
        yield row_line, dict(zip(columns, cells, strict=False))


def _rows(text: str, problems: Problems) -> Iterator[_Row]:
    """Rows that are not empty; a row that cannot be read ends the file."""
    lines = list(io.StringIO(text, newline=""))
    first = next((line for line in lines if line.strip()), "")
    delimiter = max(_DELIMITERS, key=first.count)
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield start, cells
            start = reader.line_num + 1
    except csv.Error:
        detail = "The rows from here on cannot be read as CSV."
        remedy = "Check the quotation marks: each one opened has to be closed in the same cell."
        problems.add("", detail, remedy, line=start)


def _is_usable(columns: list[str], line: int, problems: Problems) -> bool:
    if not any(columns):
        detail = "There are no rows in this file."
        problems.add(
            "", detail, f"The first line names the columns: {','.join(COLUMNS)}.", line=line
        )
        return False
    for number, column in enumerate(columns):
        if column in columns[:number]:
            problems.add("", f"The column '{column[:40]}' is there twice.", "Keep one.", line=line)
        elif column not in COLUMNS:
            meant = nearest(column, COLUMNS)
            remedy = f"Did you mean '{meant}'?" if meant else f"Known: {', '.join(COLUMNS)}."
            problems.add("", f"'{column[:40]}' is not a known column.", remedy, line=line)
    for column in _NEEDED:
        if column not in columns:
            problems.add(
                "", f"The column '{column}' is missing.", "Add it to the first line.", line=line
            )
    if not {"mobile", "email"} & set(columns):
        problems.add(
            "", f"There is no column {listed(['mobile', 'email'])}.", "Add one.", line=line
        )
    return not problems.are_fatal
