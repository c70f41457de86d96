"""One phone of homes in two buildings: which of them a text is about."""

from __future__ import annotations

from typing import Any

import pytest
from whole_service import BUILDING, Running, building_document, household_rows, mobile, said

PHONE = "+12125550142"
NAMES = {"elm-12": "12 Elm Street", "elm-21": "21 Elm Street"}
HOMES = (("elm-12", "1A"), ("elm-12", "1B"), ("elm-21", "1A"))


@pytest.fixture
def landlady(empty: Running) -> Running:
    """A service where one phone is on file for three homes of two buildings."""
    for building, name in NAMES.items():
        rows = [
            {
                "building": building,
                "apartment": apartment,
                "name": "Household",
                "mobile": PHONE,
                "email": "",
                "language": "en",
                "care": [],
            }
            for where, apartment in HOMES
            if where == building
        ]
        base = f"/api/v1/buildings/{building}"
        document = building_document(building, name)
        for path, body in ((base, document), (f"{base}/households", rows)):
            assert empty.call("PUT", path, "owner", json=body).status_code == 200
    return empty


def asked(replies: list[dict[str, Any]]) -> list[str]:
    """The lines of the text that asks which home it is."""
    (text,) = [r["text"] for r in replies if r["asks"] is not None]
    return [line for line in text.split("\n") if line[0].isdigit()]


CHOICES = ["1 12 Elm Street 1A", "2 12 Elm Street 1B", "3 21 Elm Street 1A", "0 other home"]


def test_homes_are_called_as_people_call_them_each_time(landlady: Running) -> None:
    """At first, after an answer that nobody understands, and in the reminder."""
    first = landlady.text(PHONE, "no heat, freezing in here")
    assert asked(first["replies"]) == CHOICES
    assert all(reply["segments"] == 1 for reply in first["replies"])
    again = landlady.text(PHONE, "7")
    assert asked(again["replies"]) == CHOICES
    assert asked(landlady.wait(minutes=46)) == CHOICES


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ("3", ("elm-21", "1A")),
        ("1b", ("elm-12", "1B")),
        ("21 Elm Street 1A", ("elm-21", "1A")),
        ("12 elm st, 1a", ("elm-12", "1A")),
    ],
)
def test_a_home_is_chosen_by_number_or_by_name(
    landlady: Running, said: str, place: tuple[str, str]
) -> None:
    """Who writes the choice out, where both buildings have such a door, is understood."""
    landlady.text(PHONE, "no heat, freezing in here")
    answer = landlady.text(PHONE, said)

    assert answer["ticket"] is not None
    ticket = landlady.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert (ticket["building"], ticket["apartments"]) == (place[0], [place[1]])


def test_who_has_moved_out_and_who_moved_in_share_no_report(service: Running) -> None:
    """The list names another phone for 2A; the report of the one before it was closed the day before."""
    first = service.text(mobile("2A"), "no heat, i have a baby")
    service.close(first["ticket"], fault="pump_seized", component="pump-1")
    service.wait(hours=2)
    newcomer = "+12125550166"
    rows = [
        row | {"mobile": newcomer, "care": []} if row["apartment"] == "2A" else row
        for row in household_rows()
    ]
    answer = service.call("PUT", f"/api/v1/buildings/{BUILDING}/households", "owner", json=rows)
    assert answer.status_code == 200, answer.text

    asked = service.wait(days=2)
    assert mobile("2A") not in {text["to"] for text in asked}
    new = service.text(newcomer, "hello we are new here, it is cold, 60 in here")
    assert new["complaint"] != first["complaint"]
    report = service.get(f"/api/v1/complaints/{new['complaint']}", "desk")
    assert report["care"] == []
    old = service.text(mobile("2A"), "no heat at my place again")
    assert old["complaint"] not in (first["complaint"], new["complaint"])
    assert "Where do you live" in said(old)
