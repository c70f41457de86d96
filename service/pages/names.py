"""Names of components and places for templates; a short one stays on one line."""

from __future__ import annotations

from markupsafe import Markup

from service.pages import words
from service.pages.suspects import part_words
from service.usecases.rows.views import TicketView

__all__ = ["component", "reach", "suspected"]

LONGEST_ON_ONE_LINE = 18


def component(name: str) -> str:
    """A component's name."""
    return _on_one_line(words.component_words(name))


def suspected(name: str, homes: tuple[str, ...]) -> str:
    """The same of a suspected part of these homes' ticket."""
    return _on_one_line(part_words(name, homes))


def reach(view: TicketView) -> Markup:
    """How far the trouble reaches, and from where; several homes of one ticket may share nothing."""
    homes = view.row.homes
    if view.scope == "apartment" and len(homes) > 1:
        return Markup("{}").format(f"Several apartments: {', '.join(homes)}")
    said = words.capital(words.scope_words(view.scope))
    if not view.component or view.component == view.row.building:
        return Markup("{}").format(said)
    return Markup("{}: {}").format(said, component(view.component))


def _on_one_line(text: str) -> str:
    name = str(words.clean(text))
    return (
        Markup('<span class="id">{}</span>').format(name)
        if len(name) <= LONGEST_ON_ONE_LINE
        else name
    )
