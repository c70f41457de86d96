"""Closing out: readings, photos, who was told, and whether the suspect was right."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import pytest
from at_work import COLD, cold_ticket, last_text, page, sign_in, words
from PIL import Image
from sqlalchemy import select
from whole_service import BUILDING, Running, mobile

from rules.faults.catalogue import faults
from service.auth.roles import Role
from service.store.tables import AuditRow, ClosureDetail, FactRow, RepairPhoto
from service.usecases.showing.show_record import show_record


def photo(size: tuple[int, int] = (640, 480)) -> bytes:
    """A picture as a phone takes it, with a place and a device in its metadata."""
    exif = Image.Exif()
    exif[0x010F] = "MAKER OF PHONES"
    exif[0x8825] = {1: "N", 2: (40.0, 44.0, 1.0)}
    out = io.BytesIO()
    Image.new("RGB", size, (180, 90, 30)).save(out, "JPEG", exif=exif)
    return out.getvalue()


def find(service: Running, ticket: str, **body: Any) -> None:
    """A reading by API."""
    answer = service.call("POST", f"/api/v1/tickets/{ticket}/findings", "truck", json=body)
    assert answer.status_code == 200, answer.text


def closing(**more: str) -> dict[str, str]:
    """The form of somebody who changed a seized pump."""
    return {
        "cause": "pump_seized|pump-1",
        "part_1": "circulator",
        "quantity_1": "1",
        "installed": "2026-01-09",
        "note": "seized solid",
    } | more


@pytest.fixture
def ticket(service: Running) -> dict[str, Any]:
    """A ticket of two cold homes, one of them in Spanish, with a reading; a technician is signed in."""
    service.text(mobile("1A"), COLD)
    service.text(mobile("1B"), "no hay calefacción, hace mucho frío aquí")
    found = service.only_ticket()
    find(service, found["id"], test="pump_volts", component="pump-1", value=0, unit="V")
    sign_in(service, Role.TRUCK)
    return dict(found)


def close(service: Running, ticket: str, data: dict[str, str], files: Any = None) -> Any:
    """Send the form."""
    sent = files if files is not None else [("photo", ("", b"", "application/octet-stream"))]
    return service.call("POST", f"/truck/tickets/{ticket}/close", data=data, files=sent)


def test_one_form_ends_it(service: Running, ticket: dict[str, Any]) -> None:
    """Cause, part, readings before and after and a photo in one go, and the ticket shows them."""
    form = page(service, f"/truck/tickets/{ticket['id']}")
    assert "as suspected first, stated at" in form
    assert "Pump volts at pump-1: was <strong>0 V</strong>" in form

    data = closing(check_1="pump_volts", at_1="pump-1", after_1="121")
    files = [("photo", ("in the boiler room.png", photo(), "text/html"))]
    answer = close(service, ticket["id"], data, files)
    assert (answer.status_code, answer.headers["location"]) == (
        303,
        f"/truck/tickets/{ticket['id']}",
    )

    shown = page(service, f"/truck/tickets/{ticket['id']}")
    assert "Print its date label" in shown
    picture = shown.partition("/repairs/photos/")[2].partition('"')[0]
    image = service.call("GET", f"/repairs/photos/{picture}")
    assert image.headers["content-type"] == "image/jpeg"
    with Image.open(io.BytesIO(image.content)) as kept:
        assert kept.size == (640, 480)
        assert dict(kept.getexif()) == {}
    with service.services.db.reading() as session:
        rows = session.scalars(select(FactRow).where(FactRow.ticket_id == ticket["id"])).all()
        assert [(r.source.partition(":")[0], r.body["value"]) for r in rows] == [
            ("finding", 0),
            ("after", 121),
        ]
        assert all(
            row.withdrawn_at is not None for row in rows
        )  # no evidence about what comes next
        acts = session.scalars(select(AuditRow.act).where(AuditRow.subject == ticket["id"])).all()
        assert "ticket closed" in acts


def test_every_home_of_the_ticket_is_told_and_asked(
    service: Running, ticket: dict[str, Any]
) -> None:
    """Both households hear of it at once, each in its language, and are asked next morning at nine."""
    close(service, ticket["id"], closing())

    service.wait(seconds=1)
    assert last_text(service, "1A").startswith("The work is done.")
    assert last_text(service, "1B").startswith("Ya se hizo el trabajo")
    asked = {t["to"]: t for t in service.wait(days=1)}
    assert set(asked) == {mobile("1A"), mobile("1B")}
    assert {t["asks"]["topic"] for t in asked.values()} == {"right_now"}
    assert {t["send_at"] for t in asked.values()} == {"2026-01-10T14:00:00+00:00"}  # 9 am there
    assert "Hicimos un arreglo" in asked[mobile("1B")]["text"]


def test_at_night_the_morning_says_it(service: Running, ticket: dict[str, Any]) -> None:
    """Nobody is woken for good news, and nobody gets it twice within an hour."""
    service.move(datetime(2026, 1, 10, 4, 30, tzinfo=UTC))  # half past eleven pm
    sign_in(service, Role.TRUCK)
    close(service, ticket["id"], closing())

    sent = service.wait(days=1)

    assert sorted(t["to"] for t in sent) == [mobile("1A"), mobile("1B")]
    assert {t["asks"]["topic"] for t in sent} == {"right_now"}


def test_whether_the_suspect_was_right_is_kept(service: Running) -> None:
    """Held against the first suspect as stated before any reading, with its probability then."""
    stated_right, listed = 0.0, 0
    for verdict in ("right", "same_part", "elsewhere", None):
        ticket = cold_ticket(service, "1A", "1B")
        first = ticket["suspects"][0]
        find(service, ticket["id"], test="pump_volts", component="pump-1", value=120, unit="V")
        other = next(s for s in ticket["suspects"] if s["component"] != first["component"])
        alike = next(
            str(fault.id)
            for fault in faults().values()
            if fault.at == faults()[first["fault"]].at and fault.id != first["fault"]
        )
        cause = {
            "right": (first["fault"], first["component"]),
            "same_part": (alike, first["component"]),
            "elsewhere": (other["fault"], other["component"]),
            None: (None, None),
        }[verdict]
        body = {
            "parts": [],
            "installed": None,
            "note": "done",
            "fault": cause[0],
            "component": cause[1],
        }

        path = f"/api/v1/tickets/{ticket['id']}/close"
        assert service.call("POST", path, "truck", json=body).status_code == 200

        newest = select(ClosureDetail).order_by(ClosureDetail.closure_id.desc()).limit(1)
        with service.services.db.reading() as session:
            detail = session.scalars(newest).one()
            stated = [(s["fault"], s["component"], s["probability"]) for s in ticket["suspects"]]
            assert (detail.verdict, detail.readings) == (verdict, 1)
            assert [(s["fault"], s["component"], s["probability"]) for s in detail.first] == stated
            assert detail.last != detail.first
        service.wait(days=15)  # what comes then is a trouble of its own
        if verdict is not None:
            stated_right += first["probability"]
            listed += any((fault, component) == cause for fault, component, _ in stated)

    with service.services.db.reading() as session:
        record = show_record(session)
    assert (record.closings, record.unnamed) == (3, 1)
    assert (record.right, record.same_part, record.elsewhere) == (1, 1, 1)
    assert record.expected_right == pytest.approx(stated_right)
    assert sum(band.found for band in record.bands) == record.named == listed


def test_a_reopened_ticket_is_judged_by_what_it_states_then(
    service: Running, ticket: dict[str, Any]
) -> None:
    """The second repair is held against the second forecast, and the record counts both."""
    close(service, ticket["id"], closing())
    service.wait(days=1)
    service.text(mobile("1A"), "2")
    again = service.get(f"/api/v1/tickets/{ticket['id']}", "desk")
    sign_in(service, Role.TRUCK)

    assert (
        close(service, ticket["id"], {"cause": "none", "note": "all is right"}).status_code == 303
    )

    with service.services.db.reading() as session:
        _, second = session.scalars(
            select(ClosureDetail.first).order_by(ClosureDetail.closure_id)
        ).all()
        record = show_record(session)
    assert [s["probability"] for s in second] == [s["probability"] for s in again["suspects"]]
    assert (record.closings, record.unnamed, record.reopened) == (1, 1, 1)


REFUSED = [
    ({"cause": ""}, "cause", "Choose the cause you found."),
    ({"cause": "none", "note": ""}, "close-note", "Say in the note what you found"),
    ({"installed": "2030-01-01"}, "installed", "in the future"),
    ({"part_1": "gold"}, "part-1", "Choose a part"),
    ({"after_1": "lots"}, "after-1", "Write the reading as one number"),
    ({"after_1": "100000"}, "after-1", "outside what the instrument can show"),
]
NO_PICTURES = (
    b"<script>alert(1)</script>",
    b"GIF89a" + b"\0" * 20,
    photo()[:300],
    b"\0" * 7_000_000,
)


def test_what_is_wrong_is_said_and_nothing_is_saved(
    service: Running, ticket: dict[str, Any]
) -> None:
    """A wrong field is named, what was typed is still there, and only pictures are taken."""
    for change, field, says in REFUSED:
        data = closing(check_1="pump_volts", at_1="pump-1") | change
        answer = close(service, ticket["id"], data)
        assert answer.status_code == 422, change
        assert says in answer.text, change
        assert f'href="#{field}"' in answer.text
        assert f'id="{field}"' in answer.text
        assert ("seized solid" in answer.text) is ("note" not in change)
    for raw in NO_PICTURES:
        answer = close(service, ticket["id"], closing(), [("photo", ("x.jpg", raw, "image/jpeg"))])
        assert answer.status_code == 422
        assert "A photo was not taken" in answer.text
    with service.services.db.reading() as session:
        assert session.scalars(select(RepairPhoto)).all() == []
    assert service.get(f"/api/v1/tickets/{ticket['id']}", "desk")["state"] == "open"


def test_photos_of_repairs_are_for_staff(service: Running, ticket: dict[str, Any]) -> None:
    """An owner does not see into homes."""
    files = [("photo", ("a.jpg", photo(), "image/jpeg"))]
    assert close(service, ticket["id"], closing(), files).status_code == 303
    with service.services.db.reading() as session:
        name = session.scalars(select(RepairPhoto.id)).one()
    sign_in(service, Role.OWNER)

    assert service.call("GET", f"/repairs/photos/{name}").status_code == 403
    shown = words(page(service, f"/plant/{BUILDING}/pump-1"))
    assert "seized solid" not in shown
    assert "Photos" not in shown


def test_what_comes_after_the_ticket_was_closed_elsewhere_is_shown_again(
    service: Running, ticket: dict[str, Any]
) -> None:
    """Nothing is saved, the page says why, and the words that were typed stand there to be copied."""
    close(service, ticket["id"], closing())

    again = close(service, ticket["id"], closing(note="coupler <b>gone</b>"))
    path = f"/truck/tickets/{ticket['id']}/findings"
    reading = {"test": "pump_feel", "component": "pump-1", "outcome": "silent_cold"}
    late = service.call("POST", path, data=reading)

    assert (again.status_code, "is closed already" in again.text) == (409, True)
    assert "What you had typed: <q>coupler &lt;b&gt;gone&lt;/b&gt;</q>" in again.text
    assert "What you had typed: <q>silent and cold</q>" in late.text
    with service.services.db.reading() as session:
        assert len(session.scalars(select(ClosureDetail)).all()) == 1
