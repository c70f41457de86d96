"""News from the desk: each phone once, in its language, respecting STOP and the night."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from whole_service import BUILDING, EVENING, KeepingGateway, Running, household_rows, mobile

EN, ES = (
    "The pump is out. We fit a new one at noon.",
    "La bomba no sirve. Ponemos otra al mediodía.",
)
STRANGER = "+12125550150"


def _news(news_id: str = "news-1", **more: Any) -> dict[str, Any]:
    return {"id": news_id, "texts": {"en": EN, "es": ES}, **more}


def _tell(service: Running, path: str, body: dict[str, Any], status: int = 200) -> dict[str, Any]:
    answer = service.call("POST", f"/api/v1/{path}/broadcast", "desk", json=body)
    assert answer.status_code == status, answer.text
    found: dict[str, Any] = answer.json()
    return found


def _households(service: Running, rows: list[dict[str, Any]]) -> None:
    path = f"/api/v1/buildings/{BUILDING}/households"
    answer = service.call("PUT", path, "owner", json=rows)
    assert answer.status_code == 200, answer.text


def _sent(service: Running, gateway: KeepingGateway) -> list[tuple[str, str]]:
    service.wait(seconds=1)
    return [(o.to, o.text) for o in gateway.sent if "pump" in o.text or "bomba" in o.text]


def test_every_household_of_a_building_once(service: Running, gateway: KeepingGateway) -> None:
    """Eight homes, eight phones, one text each, with who writes."""
    answer = _tell(service, f"buildings/{BUILDING}", _news())

    sent = _sent(service, gateway)
    assert sorted(to for to, _ in sent) == sorted(r["mobile"] for r in household_rows())
    assert {text for _, text in sent} == {f"Heat line, 9 Quarry Street: {EN}"}
    assert (answer["texts"], answer["no_phone"]) == (8, [])


def test_the_same_id_is_done_once(service: Running, gateway: KeepingGateway) -> None:
    """Again the same answer and no text; with other words the id is refused."""
    first = _tell(service, f"buildings/{BUILDING}", _news())
    again = _tell(service, f"buildings/{BUILDING}", _news())

    assert again == first | {"duplicate": True}
    assert len(_sent(service, gateway)) == 8
    _tell(service, f"buildings/{BUILDING}", _news(urgent=True), status=409)


def test_each_in_its_language_and_one_phone_once(service: Running, gateway: KeepingGateway) -> None:
    """Spanish for those who chose it; a phone of two homes gets one text; STOP is respected."""
    rows = household_rows()
    rows[0]["language"] = "es"
    rows[2]["mobile"] = rows[1]["mobile"]
    gone = rows.pop(3)
    _households(service, rows)
    service.text(rows[3]["mobile"], "STOP")
    service.text(rows[4]["mobile"], "en español por favor")

    answer = _tell(service, f"buildings/{BUILDING}", _news())

    sent = _sent(service, gateway)
    spanish = {to for to, text in sent if "La bomba no sirve." in text}
    assert spanish == {rows[0]["mobile"], rows[4]["mobile"]}
    assert len(sent) == 5
    assert len({to for to, _ in sent}) == 5
    assert (answer["texts"], answer["no_texts_wanted"]) == (5, 1)
    assert answer["no_phone"] == [gone["apartment"]]


def test_a_ticket_tells_those_it_concerns(service: Running, gateway: KeepingGateway) -> None:
    """Homes that reported and homes that the first suspect reaches, not the other loop."""
    for home in ("1A", "1B", "2A"):
        answer = service.text(mobile(home), "no heat, it is freezing")
    ticket = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert ticket["scope"] != "apartment"
    concerned = set(ticket["apartments"]) | set(ticket["suspects"][0]["explains"])

    told = _tell(service, f"tickets/{ticket['id']}", _news())

    assert {to for to, _ in _sent(service, gateway)} == {mobile(home) for home in concerned}
    assert told["ticket"] == ticket["id"]
    history = service.get(f"/api/v1/tickets/{ticket['id']}", "desk")["history"]
    assert f"News sent to {len(concerned)} phones" in [e["says"] for e in history]


def test_an_unknown_phone_that_reported_is_told(service: Running, gateway: KeepingGateway) -> None:
    """Whoever reported hears of it, on file or not."""
    answer = service.text(STRANGER, "pipes bang all night, 9 Quarry Street apt 4B")

    _tell(service, f"tickets/{answer['ticket']}", _news())

    assert {to for to, _ in _sent(service, gateway)} == {STRANGER, mobile("4B")}


def test_at_night_it_waits_unless_it_is_urgent(service: Running, gateway: KeepingGateway) -> None:
    """News of ten in the evening comes at eight; urgent news at once, to those without texts too."""
    service.text(mobile("1A"), "STOP")
    service.move(EVENING + timedelta(hours=3))

    later = _tell(service, f"buildings/{BUILDING}", _news())
    assert _sent(service, gateway) == []
    assert later["first_at"] == "2026-01-10T13:00:00+00:00"
    _tell(service, f"buildings/{BUILDING}", _news("news-2", urgent=True))

    assert len(_sent(service, gateway)) == 8
    service.move(EVENING + timedelta(hours=13, minutes=1))
    assert len(_sent(service, gateway)) == 15


def test_until_when_is_said_as_of_when_it_is_read(
    service: Running, gateway: KeepingGateway
) -> None:
    """In building time; what is read tomorrow morning calls tomorrow today."""
    service.move(EVENING + timedelta(hours=3))
    until = (EVENING + timedelta(hours=22)).isoformat()  # five in the afternoon of the next day

    _tell(service, f"buildings/{BUILDING}", _news(until=until))
    service.move(EVENING + timedelta(hours=13, minutes=1))

    assert _sent(service, gateway)[0][1].endswith("We write again by 5 pm today.")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"id": "n", "texts": {"en": EN}}, "/texts/es"),
        ({"id": "n", "texts": {"en": "  ", "es": ES}}, "/texts/en"),
        ({"id": "n", "texts": {"en": EN, "es": "palabra " * 80}}, "/texts/es"),
        ({"texts": {"en": EN, "es": ES}}, "/id"),
        ({"id": "n", "texts": {"en": EN, "es": ES}, "until": "noon"}, "/until"),
    ],
)
def test_what_cannot_be_sent_is_refused(
    service: Running, gateway: KeepingGateway, body: dict[str, Any], pointer: str
) -> None:
    """Both languages, not empty, at most three segments, an id and a real time."""
    answer = _tell(service, f"buildings/{BUILDING}", body, status=422)

    assert [e["pointer"] for e in answer["errors"]] == [pointer]
    assert _sent(service, gateway) == []


def test_only_the_desk_and_only_what_is_there(service: Running) -> None:
    """Other roles are refused; an unknown building or ticket is 404, one without a home 409."""
    for role in ("truck", "owner", "gateway"):
        path = f"/api/v1/buildings/{BUILDING}/broadcast"
        assert service.call("POST", path, role, json=_news()).status_code == 403
    _tell(service, "buildings/nowhere", _news(), status=404)
    _tell(service, "tickets/t_none", _news(), status=404)
    unplaced = service.text(STRANGER, "no heat, freezing")
    _tell(service, f"tickets/{unplaced['ticket']}", _news(), status=409)
