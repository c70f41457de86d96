"""News from the desk to all households that a trouble concerns: each phone once, in its language."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import literal, or_, select
from sqlalchemy.orm import Session

from rules.asking.sayings import say
from service.errors import ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import (
    Broadcast,
    Complaint,
    HouseholdRow,
    NumberHome,
    NumberRow,
    OutboxMessage,
    Ticket,
)
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.loading.page_names import is_page
from service.usecases.loading.plants import plant_of
from service.usecases.rows.quiet_hours import awake_at
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import record_event
from service.usecases.sending.due_words import due_words
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["News", "news_for_home", "tell_building", "tell_ticket"]

MOST_SEGMENTS = 3
SHOWN_FOR = timedelta(days=14)  # the longest that news stands on a page
LONGEST_NAME = 30
LANGUAGES = ("en", "es")


@dataclass(frozen=True, slots=True)
class News:
    """What to tell, in both languages; ``until`` is when the households hear again at the latest."""

    request_id: str
    en: str
    es: str
    until: datetime | None = None
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class _Hearers:
    building_id: str
    ticket: Ticket | None
    phones: Mapping[str, str]  # number to language
    deaf: tuple[str, ...]  # apartments that no phone is known of


def tell_building(
    session: Session, now: datetime, sms: SmsRules, building_id: str, news: News
) -> dict[str, Any]:
    """Tell every household of a building.

    Raises:
        NotFoundError: there is no such building.
        InvalidError: the texts are empty or too long.
        ConflictError: the id was used for something else.
    """
    plant = plant_of(session, building_id)
    if plant is None:
        raise NotFoundError(f"there is no building {building_id!r}")
    homes = tuple(str(a.id) for a in plant.apartments)
    return _tell(session, now, sms, _hearers(session, building_id, None, homes), news)


def tell_ticket(
    session: Session, now: datetime, sms: SmsRules, ticket_id: str, news: News
) -> dict[str, Any]:
    """Tell the households that have reported it, and those whom the first suspect would reach.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: its home is not known, it is closed, or the id was used for something else.
        InvalidError: the texts are empty or too long.
    """
    ticket = ticket_row(session, ticket_id)
    if ticket.building_id is None or ticket.state != "open":
        raise ConflictError("the ticket is closed, or nobody knows which home it is about")
    reported = session.scalars(
        select(Complaint.apartment)
        .where(Complaint.ticket_id == ticket.id, Complaint.closed_at.is_(None))
        .where(Complaint.apartment.is_not(None))
    )
    first = next(iter(ticket.picture["suspects"]), None)
    explained = first["explains"] if first and ticket.scope != "apartment" else ()
    homes = tuple(sorted({str(a) for a in (*reported, *explained)}))
    return _tell(session, now, sms, _hearers(session, ticket.building_id, ticket, homes), news)


def news_for_home(
    session: Session, now: datetime, building_id: str, ticket_id: str | None, language: str
) -> str:
    """The last news that concerns a home, for its page; empty when there is none, or it is over."""
    tickets = [ticket_id] if ticket_id is not None else []
    about = or_(Broadcast.ticket_id.is_(None), Broadcast.ticket_id.in_(tickets))
    last = session.scalars(
        select(Broadcast)
        .where(Broadcast.building_id == building_id, about, Broadcast.at > now - SHOWN_FOR)
        .order_by(Broadcast.at.desc(), Broadcast.request_id)
        .limit(1)
    ).first()
    if last is None:
        return ""
    spoken = language if language in LANGUAGES else LANGUAGES[0]
    said = " ".join(str(last.asked[spoken]).split())
    until = last.asked["until"]
    if until is None:
        return said if last.at > now - timedelta(days=1) else ""
    plant = plant_of(session, building_id)
    zone = plant.timezone if plant is not None else "UTC"
    by = due_words(datetime.fromisoformat(until), now, zone, spoken)
    return f"{said} {say('news_by', spoken, by=by.rstrip('.'))}" if by else ""


def _hearers(
    session: Session, building_id: str, ticket: Ticket | None, homes: tuple[str, ...]
) -> _Hearers:
    """Every phone that belongs to one of the homes or has reported for it."""
    registered = select(HouseholdRow.apartment, HouseholdRow.mobile, HouseholdRow.language).where(
        HouseholdRow.building_id == building_id, HouseholdRow.mobile.is_not(None)
    )
    shown = select(NumberHome.apartment, NumberHome.number, literal(None)).where(
        NumberHome.building_id == building_id
    )
    reported = select(Complaint.apartment, Complaint.number, literal(None)).where(
        Complaint.building_id == building_id, Complaint.closed_at.is_(None)
    )
    found = [row for query in (registered, shown, reported) for row in session.execute(query)]
    reached = [(str(a), str(n), lang) for a, n, lang in found if a in homes and not is_page(n)]
    phones: dict[str, str] = {}
    for _, number, language in reached:
        phones.setdefault(number, _spoken(session, number, language))
    heard = {apartment for apartment, _, _ in reached}
    deaf = tuple(a for a in homes if a not in heard)
    return _Hearers(building_id, ticket, phones, deaf)


def _spoken(session: Session, number: str, registered: str | None) -> str:
    row = session.get(NumberRow, number)
    return (row.language if row is not None else None) or registered or LANGUAGES[0]


def _tell(
    session: Session, now: datetime, sms: SmsRules, hearers: _Hearers, news: News
) -> dict[str, Any]:
    asked = {**asdict(news), "until": news.until.isoformat() if news.until else None}
    ticket = hearers.ticket
    asked |= {"building": hearers.building_id, "ticket": ticket.id if ticket else None}
    before = session.scalars(
        select(Broadcast).where(Broadcast.request_id == news.request_id)
    ).first()
    if before is not None:
        if before.asked != asked:
            raise ConflictError("this id was used for other news")
        return {**before.answer, "duplicate": True}
    written = _texts(session, now, sms, hearers.building_id, news)
    sent = list(_write(session, now, sms, hearers, news, written))
    told = {row.to_number for row in sent}
    answer = {
        "id": news.request_id,
        "duplicate": False,
        "building": hearers.building_id,
        "ticket": asked["ticket"],
        "texts": len(told),
        "no_texts_wanted": len(hearers.phones) - len(told),
        "no_phone": list(hearers.deaf),
        "first_at": min((row.send_at for row in sent), default=now).isoformat(),
    }
    session.add(
        Broadcast(
            request_id=news.request_id,
            building_id=hearers.building_id,
            ticket_id=asked["ticket"],
            at=now,
            asked=asked,
            answer=answer,
        )
    )
    if ticket is not None:
        body = {"texts": len(told), "en": news.en, "es": news.es}
        record_event(session, now, ticket.id, "broadcast", body)
    session.flush()
    return answer


def _texts(
    session: Session, now: datetime, sms: SmsRules, building_id: str, news: News
) -> dict[str, str]:
    """The text in each language, with who writes and until when.

    Raises:
        InvalidError: one is empty or too long.
    """
    plant = plant_of(session, building_id)
    name, zone = (plant.name, plant.timezone) if plant is not None else (building_id, "UTC")
    read_at = now if news.urgent else awake_at(now, zone)  # "today" is the day it is read
    texts: dict[str, str] = {}
    wrong = []
    for language, words in zip(LANGUAGES, (news.en, news.es), strict=True):
        said = " ".join(words.split())
        building = name[:LONGEST_NAME].strip()
        text = say("news", language, building=building, news=said)
        by = due_words(news.until, read_at, zone, language) if news.until is not None else ""
        if by:
            text += " " + say("news_by", language, by=by)
        texts[language] = text
        if not said:
            wrong.append(PointedError(f"/texts/{language}", "is empty; write it"))
        elif sms.segments(sms.fold(text)) > MOST_SEGMENTS:
            long = f"is longer than {MOST_SEGMENTS} texts: shorten it"
            wrong.append(PointedError(f"/texts/{language}", long))
    if wrong:
        raise InvalidError("the news is refused", wrong)
    return texts


def _write(
    session: Session,
    now: datetime,
    sms: SmsRules,
    hearers: _Hearers,
    news: News,
    texts: Mapping[str, str],
) -> Iterable[OutboxMessage]:
    plant = plant_of(session, hearers.building_id)
    zone = plant.timezone if plant is not None else "UTC"
    for number, language in sorted(hearers.phones.items()):
        draft = Draft(texts[language if language in LANGUAGES else "en"], urgent=news.urgent)
        yield from write_outbox(session, now, sms, Letter(number, zone), (draft,))
