"""Addresses of a tenant's page: ``/home/{key}`` shows where things stand, and forms lead back to it.

Whatever was sent, the answer is a redirect to a page that can be opened again, so refresh and Back
never send anything twice. The danger page needs no database to be shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Depends, File, Form, Request, Response, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse

from service.pages.access import services_of
from service.pages.home.address import once_or_new
from service.pages.home.doors import (
    DoorGoneError,
    HomeRoute,
    Visit,
    count_sent,
    leave_now,
    visit,
)
from service.pages.home.forms import PHOTO_NOTES, PHOTO_TROUBLES, Answer, Report, Trouble
from service.pages.home.show import show_form, show_page
from service.usecases.home.web_phone import leave_phone
from service.usecases.home.web_photos import LARGEST_BYTES, keep_photo
from service.usecases.home.web_questions import RIGHT_NOW, asks_for_change, means
from service.usecases.home.web_say import Said, dangers_here, finish, say_on_page
from service.usecases.home.web_show import show_home
from service.usecases.home.web_views import HomeView
from service.usecases.home.web_words import saying

__all__ = ["router"]

router = APIRouter(
    prefix="/home",
    route_class=HomeRoute,
    include_in_schema=False,
    default_response_class=HTMLResponse,
)
AFTER_REPAIR = {"yes": "right", "no": "again"}  # what the answer to "is it right now?" is told
Here = Annotated[Visit, Depends(visit)]
Text = Annotated[str, Form()]


@router.get("")
def nowhere() -> Response:
    """Without a key there is nothing to show."""
    raise DoorGoneError("no key was given")


@router.get("/{key}")
def home(here: Here, note: str = "") -> Response:
    """Where things stand: the first question, the next one, a check, or the report."""
    return show_page(here, _view(here), note)


@router.get("/{key}/{page}")
def form(here: Here, page: str, note: str = "") -> Response:
    """A page with one form; a page that there is not leads to where things stand."""
    too_large = page == "photo" and note == "photo_large"
    trouble: Trouble | None = "photo_large" if too_large else None
    return show_form(here, _view(here), page, trouble=trouble) or _back(here)


@router.post("/{key}/report")
def report(
    request: Request,
    later: BackgroundTasks,
    here: Here,
    kinds: Annotated[list[str] | None, Form()] = None,
    words: Text = "",
    once: Text = "",
) -> Response:
    """Something is wrong, or there is more to say."""
    told = Report.of(kinds or [], words)
    text = told.text(here.place.language)
    if not text:
        return _again(here, "more", "nothing_told", report=told)
    fields = {"kinds": list(told.kinds), "words": told.words}
    note = "added" if _view(here).is_open else ""
    return _say(request, later, here, once, text, fields, note)


@router.post("/{key}/answer")
def answer(
    request: Request,
    later: BackgroundTasks,
    here: Here,
    topic: Text = "",
    choice: Text = "",
    number: Text = "",
    unit: Text = "F",
    once: Text = "",
) -> Response:
    """The answer to the question that is out; one to an earlier question changes nothing."""
    view = _view(here)
    if view.check is not None and view.check.topic == topic and choice == "cannot":
        words = saying("cannot", here.place.language)
        return _say(request, later, here, once, words, {"topic": topic, "choice": choice})
    if view.ask is None or view.ask.topic != topic:
        return _back(here, "past")
    given = Answer(choice[:3], number[:40], unit[:1])
    trouble = given.trouble(view.ask)
    if trouble is not None:
        return show_page(here, view, trouble=trouble, answer=given)
    fields = {"topic": topic, "choice": given.choice, "number": given.number, "unit": given.unit}
    text = given.text(view.ask, here.place.language)
    note = AFTER_REPAIR.get(means(topic, given.choice), "") if topic == RIGHT_NOW else ""
    answered = _say(request, later, here, once, text, fields, note)
    if asks_for_change(topic, given.choice):
        return RedirectResponse(here.place.at("more"), status_code=303)
    return answered


@router.post("/{key}/fixed")
def fixed(request: Request, later: BackgroundTasks, here: Here, once: Text = "") -> Response:
    """It works again."""
    text = saying("fixed", here.place.language)
    return _say(request, later, here, once, text, {"button": "fixed"})


@router.post("/{key}/still")
def still(request: Request, later: BackgroundTasks, here: Here, once: Text = "") -> Response:
    """The repair did not help; the report is opened again."""
    text = saying("still", here.place.language)
    return _say(request, later, here, once, text, {"button": "still"}, note="again")


@router.post("/{key}/person")
def person(request: Request, later: BackgroundTasks, here: Here, once: Text = "") -> Response:
    """Somebody wants a person."""
    text = saying("person", here.place.language)
    return _say(request, later, here, once, text, {"button": "person"}, note="person")


@router.post("/{key}/mistake")
def mistake(request: Request, later: BackgroundTasks, here: Here, once: Text = "") -> Response:
    """Danger was pressed by mistake: a person reads that, and decides; no press ends a danger."""
    text = saying("mistake", here.place.language)
    return _say(request, later, here, once, text, {"button": "mistake"}, note="mistake")


@router.post("/{key}/undo")
def undo(request: Request, later: BackgroundTasks, here: Here, once: Text = "") -> Response:
    """The last answer was wrong; its question is put again."""
    text = saying("undo", here.place.language)
    return _say(request, later, here, once, text, {"button": "undo"})


@router.post("/{key}/phone")
def phone(request: Request, here: Here, phone: Text = "") -> Response:
    """A number to send news to."""
    services = services_of(request)
    written, language = phone.strip()[:40], here.place.language
    if not leave_phone(services, services.now(), here.door, written, language):
        return _again(here, "phone", "phone_wrong", phone=written)
    return _back(here, "phone")


@router.post("/{key}/photo")
def photo(
    request: Request,
    here: Here,
    photo: Annotated[UploadFile | None, File()] = None,
    once: Text = "",
) -> Response:
    """A photo for the open report."""
    services = services_of(request)
    raw = photo.file.read(LARGEST_BYTES + 1) if photo is not None else b""
    became = keep_photo(services, services.now(), here.door, once_or_new(once), raw)
    trouble = PHOTO_TROUBLES.get(became)
    if trouble is not None:
        return _again(here, "photo", trouble)
    return _back(here, PHOTO_NOTES.get(became, ""))


def _view(here: Visit) -> HomeView:
    with here.services.db.reading() as session:
        return show_home(session, here.services.now(), here.door, here.place.language)


def _say(
    request: Request,
    later: BackgroundTasks,
    here: Visit,
    once: str,
    text: str,
    fields: Mapping[str, object],
    note: str = "",
) -> Response:
    """Send it on its way. Danger is answered by the page at once; the rest is heard after that."""
    services = services_of(request)
    now = services.now()
    said = Said(once_or_new(once), text, here.place.language, fields)
    dangers = dangers_here(services, here.door, text)
    if not dangers:
        count_sent(request, say_on_page(services, now, here.door, said))
        return _back(here, note)
    leave = leave_now(here.place.key, here.place.language, dangers)
    sent = here.try_to_tell(said)
    count_sent(request, sent)
    if sent is not None:
        later.add_task(finish, services, now, sent)
        leave.background = later
    return leave


def _back(here: Visit, note: str = "") -> Response:
    more = {"note": note} if note else {}
    return RedirectResponse(here.place.at(**more), status_code=303)


def _again(here: Visit, page: str, trouble: Trouble, **kept: object) -> Response:
    shown = show_form(here, _view(here), page, trouble=trouble, **kept)
    return shown if shown is not None else _back(here)
