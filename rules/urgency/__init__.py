"""By when somebody must act, and the rules that set the time."""

from rules.urgency.forecast import Forecast
from rules.urgency.respond import Because, RespondBy, respond_by
from rules.urgency.severity import Severity, severity

__all__ = [
    "Because",
    "Forecast",
    "RespondBy",
    "Severity",
    "respond_by",
    "severity",
]
