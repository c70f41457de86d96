"""What lies in the folded parts of a desk's ticket, in few words beside their headings."""

from __future__ import annotations

from collections.abc import Sequence

from service.pages.evidence import Weighed
from service.pages.words import place_words
from service.usecases.rows.views import TicketView

__all__ = ["weighed_words", "work_words"]


def weighed_words(view: TicketView, weighed: Sequence[Weighed]) -> str:
    """How much has been weighed: "2 suspects, 3 things worth knowing"."""
    said = [_counted(len(weighed), "suspect")] if weighed else ["nothing weighed yet"]
    if view.notes:
        said.append(f"{_counted(len(view.notes), 'thing')} worth knowing")
    return ", ".join(said)


def work_words(view: TicketView) -> str:
    """What the technician begins with and carries before all else."""
    said = [f"{_counted(len(view.findings), 'reading')} so far"] if view.findings else []
    if view.checks:
        first = view.checks[0]
        begins = f"first: {first.do[:1].lower() + first.do[1:]}, {place_words(first.place)}"
        said.append(f"{_counted(len(view.checks), 'check')}, {begins}")
    if view.load:
        more = f" and {len(view.load) - 1} more" if len(view.load) > 1 else ""
        said.append(f"to carry: {view.load[0].quantity} x {view.load[0].says}{more}")
    return "; ".join(said) or "nothing yet"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
