"""From what is known of a home to its page."""

from __future__ import annotations

from typing import Any

from fastapi.responses import HTMLResponse

from service.pages.home.address import Place, new_once
from service.pages.home.doors import Visit
from service.pages.home.forms import Answer, Report, Trouble
from service.pages.rendering import render
from service.usecases.home.web_views import HomeView
from service.usecases.home.web_words import (
    LANGUAGES,
    danger_labels,
    danger_steps,
    is_first_aid,
    kind_labels,
    page_words,
)

__all__ = ["show_danger", "show_form", "show_page"]

_TEMPLATES = {
    "start": "report",
    "ask": "ask",
    "check": "check",
    "stands": "stands",
    "pending": "pending",
}
# Pages with a form of their own, and whether they need an open report.
_FORMS = {
    "more": ("report", True),
    "fixed": ("fixed", True),
    "photo": ("photo", True),
    "phone": ("phone", False),
    "person": ("person", False),
}
_NOTES = frozenset(
    {"added", "again", "mistake", "past", "person", "phone", "photo", "photo_enough", "right"}
)


def show_page(
    here: Visit,
    view: HomeView,
    note: str = "",
    *,
    trouble: Trouble | None = None,
    answer: Answer | None = None,
) -> HTMLResponse:
    """The page as it stands, or the question again with what was wrong."""
    more = {"answer": answer or Answer(), "report": Report(), "page": ""}
    return _page(here, view, _TEMPLATES[view.stage], trouble, note=note, **more)


def show_form(
    here: Visit, view: HomeView, page: str, *, trouble: Trouble | None = None, **kept: object
) -> HTMLResponse | None:
    """A page with one form; None when there is no such page or nothing it could be about."""
    if page == "more" and not view.is_open:
        page_of, needs_report = "report", False
        if trouble is None:
            return None
    else:
        page_of, needs_report = _FORMS.get(page, ("", True))
    if not page_of or (needs_report and not view.is_open):
        return None
    more = {"report": Report(), "phone": "", "page": page, **kept}
    return _page(here, view, page_of, trouble, note="", **more)


def show_danger(place: Place, dangers: tuple[str, ...], *, told: bool) -> HTMLResponse:
    """What to do now; made of nothing but a table of words."""
    language = place.language
    page = render(
        "home/templates/danger.html",
        t=page_words(language),
        language=language,
        place=place,
        door_name="",
        switch=_switched(place, "danger", kind=".".join(dangers))
        if dangers
        else _switched(place, "danger"),
        steps=danger_steps(dangers, language),
        first_aid=is_first_aid(dangers),
        choices=danger_labels(language),
        told=told,
        once=new_once(),
    )
    return HTMLResponse(page)


def _page(
    here: Visit, view: HomeView, template: str, trouble: Trouble | None, *, note: str, **more: Any
) -> HTMLResponse:
    t = page_words(here.place.language)
    page = render(
        f"home/templates/{template}.html",
        t=t,
        language=here.place.language,
        place=here.place,
        door_name=t["home"].format(building=here.door.building_name, apartment=here.door.apartment),
        switch=_switched(here.place, str(more["page"])),
        view=view,
        kinds=kind_labels(here.place.language),
        trouble=trouble,
        note=note if note in _NOTES else "",
        once=new_once(),
        **more,
    )
    return HTMLResponse(page, status_code=422 if trouble else 200)


def _switched(place: Place, page: str, **query: str) -> str:
    """The same page in the other language."""
    other = LANGUAGES[1 - LANGUAGES.index(place.language)]
    return Place(place.key, other).at(page, **query)
