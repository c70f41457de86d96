"""The close-out form, from what was typed to what was meant."""

from __future__ import annotations

from datetime import date

from service.errors import InvalidError
from service.pages.readings import read_number
from service.pages.rendering import FormProblem
from service.usecases.diagnosing.record_finding import Finding
from service.usecases.repairs.close_ticket import Closing
from service.usecases.rows.repair_views import ClosingReading
from service.usecases.rows.views import TicketView

__all__ = ["closing_problem", "read_closing"]

Kept = dict[str, str]


def read_closing(view: TicketView, kept: Kept, today: date) -> Closing | FormProblem:
    """The closing that was sent, or what is missing from it; photos come apart."""
    cause = kept.get("cause_other") or kept.get("cause", "")
    fault, _, component = cause.partition("|")
    unclear = _unclear(view, kept, cause)
    if unclear is not None:
        return unclear
    parts = _parts(view, kept)
    if isinstance(parts, FormProblem):
        return parts
    installed = _date(kept.get("installed", ""))
    if installed is None and kept.get("installed"):
        return FormProblem("installed", "Write the date as year-month-day.", kept)
    if installed is not None and installed > today:
        return FormProblem(
            "installed", "The date is in the future: take today or a day before.", kept
        )
    before, after = (_readings(view.closing, kept, when) for when in ("before", "after"))
    if isinstance(before, FormProblem):
        return before
    if isinstance(after, FormProblem):
        return after
    return Closing(
        fault=None if cause == "none" else fault,
        component=None if cause == "none" else component,
        parts=parts,
        # The date field is filled in beforehand; without a part it says nothing.
        installed_on=installed if parts else None,
        note=kept.get("note", "")[:2000],
        before=before,
        after=after,
    )


def closing_problem(refused: InvalidError, kept: Kept) -> FormProblem:
    """What the use case would not take, at the field it is about."""
    first = refused.errors[0] if refused.errors else None
    if first is None:
        return FormProblem("close", refused.message, kept)
    steps = [*first.pointer.split("/")[1:], "", ""]
    field = {"installed": "installed", "fault": "cause", "note": "close-note"}.get(
        steps[0], "close"
    )
    if steps[0] in ("before", "after"):
        filled = [n for n in range(1, 10) if kept.get(f"{steps[0]}_{n}")]
        field = f"{steps[0]}-{filled[int(steps[1])]}"
    return FormProblem(field, f"Not saved: this {first.detail}.", kept)


def _unclear(view: TicketView, kept: Kept, cause: str) -> FormProblem | None:
    """A cause that says nothing to whoever learns from it."""
    if cause == "none":
        says = "Say in the note what you found: the cause is not in the list."
        return None if kept.get("note") else FormProblem("close-note", says, kept)
    listed = {f"{fault}|{component}" for fault, component, _ in view.fault_choices}
    return None if cause in listed else FormProblem("cause", "Choose the cause you found.", kept)


def _parts(view: TicketView, kept: Kept) -> tuple[tuple[str, int], ...] | FormProblem:
    known = {part for part, _ in view.part_choices}
    parts: list[tuple[str, int]] = []
    for number in ("1", "2", "3"):
        part = kept.get(f"part_{number}", "")
        count = kept.get(f"quantity_{number}", "")
        if not part:
            continue
        if part not in known:
            return FormProblem(f"part-{number}", "Choose a part from the list.", kept)
        if not (count.isascii() and count.isdigit() and 1 <= int(count) <= 99):
            return FormProblem(f"quantity-{number}", "Say how many, from 1 to 99.", kept)
        parts.append((part, int(count)))
    return tuple(parts)


def _readings(
    asked: tuple[ClosingReading, ...], kept: Kept, when: str
) -> tuple[Finding, ...] | FormProblem:
    found = []
    for number, line in enumerate(asked, start=1):
        typed = kept.get(f"{when}_{number}", "")
        if not typed:
            continue
        if (kept.get(f"check_{number}"), kept.get(f"at_{number}")) != (line.check, line.component):
            return FormProblem("close", "The readings have changed. See them below.", kept)
        reading = _reading(line, typed)
        if reading is None:
            wanted = "one number, for example 24.5" if line.unit else "a word from the list"
            return FormProblem(f"{when}-{number}", f"Write the reading as {wanted}.", kept)
        found.append(reading)
    return tuple(found)


def _reading(line: ClosingReading, typed: str) -> Finding | None:
    if line.unit is None:
        if typed not in line.outcomes:
            return None
        return Finding(line.check, line.component, calling=line.calling, outcome=typed)
    value = read_number(typed, line.unit)
    if value is None:
        return None
    return Finding(line.check, line.component, value, line.unit, line.calling)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
