"""By when somebody must act, and the rules that set the time."""

from rules.urgency.forecast import Forecast
from rules.urgency.respond import Because, RespondBy, respond_by
from rules.urgency.severity import Severity, severity
from rules.urgency.stages import stages
from rules.urgency.triggers import Report

__all__ = [
    "Because",
    "Forecast",
    "Report",
    "RespondBy",
    "Severity",
    "respond_by",
    "severity",
    "stages",
]
