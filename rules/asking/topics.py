"""Every topic that a text may answer: what tenants are asked, and what is asked of a superintendent."""

from __future__ import annotations

from functools import cache

from rules.asking.questions import questions
from rules.asking.turns import HOMES, PLACE
from rules.model import TopicId

__all__ = ["topics"]

# Asked of whoever looks after the boiler room, by people and not by us: gauge and display, pumps and
# relay lamps, hot valve outlets. Of an answer all is read that any text tells.
_OF_SUPERINTENDENTS = (TopicId("s_gauge"), TopicId("s_pump"), TopicId("s_valves"))


@cache
def topics() -> tuple[TopicId, ...]:
    """All of them: the table of questions first, then what is asked about the home itself."""
    return (*questions(), PLACE, HOMES, *_OF_SUPERINTENDENTS)
