"""A tenant's words to observations, each with the span of text it came from."""

from rules.reading.listening import danger_in
from rules.reading.reader import read
from rules.reading.seen import Answer, Place, Reading, Span
from rules.reading.volunteered import volunteered

__all__ = ["Answer", "Place", "Reading", "Span", "danger_in", "read", "volunteered"]
