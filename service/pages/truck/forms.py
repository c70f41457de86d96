"""The readings form of a truck ticket, from what was typed to what was meant."""

from __future__ import annotations

from collections.abc import Mapping

from service.errors import InvalidError
from service.pages.readings import read_number
from service.pages.rendering import FormProblem
from service.usecases.diagnosing.record_finding import Finding
from service.usecases.rows.views import CheckLine, TicketView
from service.usecases.showing.outcome_words import outcome_words
from service.usecases.showing.truck_checks import check_nothing, check_units

__all__ = ["problem_of", "read_finding", "typed_words"]

Kept = dict[str, str]


def _check_of(view: TicketView, kept: Kept) -> CheckLine | None:
    asked = (kept.get("test"), kept.get("component"))
    return next((c for c in view.checks if (c.check, c.component) == asked), None)


def read_finding(view: TicketView, kept: Kept) -> Finding | FormProblem:
    """The finding that was sent, or what is missing from it."""
    check = _check_of(view, kept)
    if check is None:
        says = "This check is no longer asked for. See the list below."
        return FormProblem("checks", says, {**kept, "typed": typed_words(kept)})
    calling = {"yes": True, "no": False}.get(kept.get("calling", ""))
    if check.needs_call_state and calling is None:
        return FormProblem("calling", "Say whether the thermostat is calling.", kept)
    if check.unit is None:
        outcome = kept.get("outcome", "")
        if outcome not in check.outcomes:
            return FormProblem("outcome", "Choose what you found.", kept)
        return Finding(check.check, check.component, calling=calling, outcome=outcome)
    nothing = check_nothing(check.check)
    if nothing is not None and kept.get("outcome") == nothing and not kept.get("value"):
        return Finding(check.check, check.component, calling=calling, outcome=nothing)
    # The form may choose among the units of the check, and no other.
    sent = kept.get("unit", "")
    unit = sent if sent in check_units(check.check, check.unit) else check.unit
    value = read_number(kept.get("value", ""), unit)
    if value is None:
        example = "24.5, or OL for an open circuit" if unit == "ohm" else "24.5"
        message = f"Write the reading as one number, for example {example}."
        return FormProblem("value", message, kept)
    return Finding(check.check, check.component, value, unit, calling)


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


def typed_words(typed: Mapping[str, str]) -> str:
    """What somebody typed into a form that has no place any more, so that it is not lost."""
    value = f"{typed.get('value', '')} {typed.get('unit', '')}" if typed.get("value") else ""
    said = (typed.get("note", ""), outcome_words(typed.get("outcome", "")), value.strip())
    return "; ".join(words for words in said if words)
