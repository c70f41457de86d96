"""The two forms of a truck ticket, from what was typed to what was meant."""

from __future__ import annotations

from datetime import date

from service.errors import InvalidError
from service.pages.readings import read_number
from service.pages.rendering import FormProblem
from service.usecases.close_ticket import Closing
from service.usecases.record_finding import Finding
from service.usecases.views import CheckLine, TicketView

__all__ = ["problem_of", "read_closing", "read_finding"]

Kept = dict[str, str]


def _check_of(view: TicketView, kept: Kept) -> CheckLine | None:
    asked = (kept.get("test"), kept.get("component"))
    return next((c for c in view.checks if (c.check, c.component) == asked), None)


def read_finding(view: TicketView, kept: Kept) -> Finding | FormProblem:
    """The finding that was sent, or what is missing from it."""
    check = _check_of(view, kept)
    if check is None:
        return FormProblem("checks", "This check is no longer asked for. See the list below.", kept)
    calling = {"yes": True, "no": False}.get(kept.get("calling", ""))
    if check.needs_call_state and calling is None:
        return FormProblem("calling", "Say whether the thermostat is calling.", kept)
    if check.unit is None:
        outcome = kept.get("outcome", "")
        if outcome not in check.outcomes:
            return FormProblem("outcome", "Choose what you found.", kept)
        return Finding(check.check, check.component, calling=calling, outcome=outcome)
    value = read_number(kept.get("value", ""), check.unit)
    if value is None:
        example = "24.5, or OL for an open circuit" if check.unit == "ohm" else "24.5"
        message = f"Write the reading as one number, for example {example}."
        return FormProblem("value", message, kept)
    return Finding(check.check, check.component, value, check.unit, calling)


def read_closing(view: TicketView, kept: Kept, today: date) -> Closing | FormProblem:
    """The closing that was sent, or what is missing from it."""
    cause = kept.get("cause_other") or kept.get("cause", "")
    fault, _, component = cause.partition("|")
    if cause != "none" and (fault, component) not in {(f, c) for f, c, _ in view.fault_choices}:
        return FormProblem("cause", "Choose the cause you found.", kept)
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
    installed = _date(kept.get("installed", ""))
    if installed is None and kept.get("installed"):
        return FormProblem("installed", "Write the date as year-month-day.", kept)
    if installed is not None and installed > today:
        return FormProblem("installed", "The date is in the future.", kept)
    return Closing(
        fault=None if cause == "none" else fault,
        component=None if cause == "none" else component,
        parts=tuple(parts),
        # The date field is filled in beforehand; without a part it says nothing.
        installed_on=installed if parts else None,
        note=kept.get("note", "")[:2000],
    )


def problem_of(refused: InvalidError, kept: Kept) -> FormProblem:
    """What the use case would not take, at the field it is about."""
    first = refused.errors[0] if refused.errors else None
    if first is None:
        return FormProblem("checks", refused.message, kept)
    pointer = first.pointer.split("/")[1] if "/" in first.pointer else ""
    fields = {"value": "value", "unit": "value", "outcome": "outcome", "fault": "cause"}
    rest = "checks" if "test" in kept else "close"
    field = "installed" if pointer == "installed" else fields.get(pointer, rest)
    return FormProblem(field, f"Not saved: this {first.detail}.", kept)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
