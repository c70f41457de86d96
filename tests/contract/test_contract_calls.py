"""Section 3 and 6 of the outside contract: who may call what, what is refused, files, inbox, clock."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from typing import Any

import pytest
from program import HOUSE_NUMBER, ROLES, Program, moment
from shapes import (
    check_mail_row,
    check_problem,
    check_reading,
    check_refusal,
    check_text_answer,
    check_ticket,
)
from tenants import building, households, number_of

HOUSE = "mill-1"
CALLS = [
    ("PUT", f"/api/v1/buildings/{HOUSE}", {"owner"}),
    ("PUT", f"/api/v1/buildings/{HOUSE}/households", {"owner"}),
    ("PUT", "/api/v1/weather/kmill-1", {"owner"}),
    ("POST", "/api/v1/texts", {"gateway"}),
    ("POST", "/api/v1/readings", {"desk"}),
    ("GET", "/api/v1/inbox", {"desk"}),
    ("GET", "/api/v1/complaints/c_none", {"desk"}),
    ("GET", "/api/v1/tickets", {"desk", "truck"}),
    ("GET", "/api/v1/tickets/t_none", {"desk", "truck"}),
    ("POST", "/api/v1/tickets/t_none/findings", {"truck"}),
    ("POST", "/api/v1/tickets/t_none/close", {"truck"}),
    ("GET", "/api/v1/clock", {"owner"}),
    ("PUT", "/api/v1/clock", {"owner"}),
]


@pytest.fixture(scope="module", autouse=True)
def _house(program: Program) -> None:
    """One building with its households, before anything else."""
    program.load(building(HOUSE), households(HOUSE, 0))


@pytest.mark.parametrize(("method", "path", "allowed"), CALLS)
def test_a_call_is_for_its_roles(
    program: Program, method: str, path: str, allowed: set[str]
) -> None:
    """Nobody without a token, nobody with a wrong one, and no role but those named."""
    check_problem(program.call(method, path), 401)
    forged = {"Authorization": "Bearer es_owner_made-up"}
    check_problem(program.call(method, path, headers=forged), 401)
    for role in set(ROLES) - allowed:
        check_problem(program.call(method, path, role), 403)
    for role in allowed:
        assert program.call(method, path, role).status_code not in {401, 403}


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/metrics", "/openapi.json"])
def test_anybody_may_ask_how_it_is(program: Program, path: str) -> None:
    """Health, metrics and the description of the interface need no token."""
    assert program.call("GET", path).status_code == 200


def test_every_call_is_described(program: Program) -> None:
    """The OpenAPI document holds each call, with its method."""
    paths = program.call("GET", "/openapi.json").json()["paths"]
    for method, path, _roles in CALLS:
        shape = "[^/]*".join(re.escape(p) for p in re.split("k?mill-1|c_none|t_none", path))
        found = [p for p in paths if re.fullmatch(shape, p)]
        assert any(method.lower() in paths[p] for p in found), path


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/api/v1/nothing", 404),
        ("GET", "/nothing", 404),
        ("DELETE", "/api/v1/tickets", 405),
        ("GET", "/api/v1/complaints/c_none", 404),
        ("GET", "/api/v1/tickets/t_none", 404),
        ("GET", "/api/v1/tickets?state=broken", 422),
        ("GET", "/api/v1/inbox?limit=0", 422),
        ("GET", "/api/v1/inbox?limit=many", 422),
        ("GET", "/api/v1/inbox?after=nothing-of-ours", 422),
    ],
)
def test_errors_are_problem_documents(
    program: Program, method: str, path: str, status: int
) -> None:
    """Whatever is wrong with a call is told the same way."""
    check_problem(program.call(method, path, "desk"), status)


@pytest.mark.parametrize("content", [b"", b"{", b"\xff\xfe", b'{"hours": NaN}', b"[" * 5000])
def test_a_body_that_is_no_json_is_refused(program: Program, content: bytes) -> None:
    """Nothing of it reaches the service."""
    for path in (f"/api/v1/buildings/{HOUSE}", "/api/v1/weather/kmill-1", "/api/v1/clock"):
        answer = program.call("PUT", path, "owner", content=content)
        check_problem(answer, answer.status_code)
        assert answer.status_code in {400, 422}


def test_a_building_is_refused_with_all_its_problems_at_once(program: Program) -> None:
    """Unknown key, timezone, heat rule, and a loop without a source, each with its pointer."""
    wrong = building(HOUSE)
    wrong["colour"] = "red"
    wrong["timezone"] = "America/Nowhere"
    wrong["heat_rule"] = "us-nowhere"
    del wrong["loops"][0]["source"]
    wrong["loops"][1]["source"] = "boiler-9"

    errors = check_refusal(program.put(f"/api/v1/buildings/{HOUSE}", wrong))

    pointed = {e["pointer"] for e in errors}
    assert {"/colour", "/timezone", "/heat_rule", "/loops/1/source"} <= pointed
    assert any(p.startswith("/loops/0") for p in pointed)


def test_a_building_keeps_its_own_address(program: Program) -> None:
    """A file for another building is not stored here."""
    check_refusal(program.put("/api/v1/buildings/other-1", building(HOUSE)))


def test_an_overloaded_transformer_is_only_a_warning(program: Program) -> None:
    """It may be the very diagnosis."""
    loaded = building("mill-7")
    loaded["transformers"][0]["va"] = 20
    assert program.put("/api/v1/buildings/mill-7", loaded).status_code == 200


def test_what_is_left_out_of_a_building_gets_its_name(program: Program) -> None:
    """Ids, dates and sizes may be missing."""
    bare = building("mill-8")
    for home in bare["apartments"]:
        home["valve"] = {"kind": "motor_4wire", "transformer": "xf-1"}
        home["thermostat"] = {"kind": "battery"}
    for loop in bare["loops"]:
        loop["circulator"] = {}
        loop["relay"] = {"transformer": "xf-1"}
    del bare["built"], bare["heat_sources"][0]["installed"], bare["heat_sources"][0]["output_btuh"]
    answer = program.put("/api/v1/buildings/mill-8", bare)
    assert answer.status_code == 200, answer.text


def test_household_rows_are_refused_together(program: Program) -> None:
    """A number that cannot be, a care word that is none, a home that is not there."""
    rows = households(HOUSE, 0)
    rows[0]["mobile"] = "12"
    rows[1]["care"] = ["giant"]
    rows[2]["apartment"] = "9Z"
    errors = check_refusal(program.put(f"/api/v1/buildings/{HOUSE}/households", rows))
    assert {e["pointer"].split("/")[1] for e in errors} == {"0", "1", "2"}


def test_households_need_their_building(program: Program) -> None:
    """Nobody lives in a building that is not known."""
    answer = program.put("/api/v1/buildings/mill-404/households", [])
    check_problem(answer, answer.status_code)
    assert answer.status_code in {404, 422}


@pytest.mark.parametrize(
    "hour",
    [
        {"at": "2025-01-01T00:00:00", "outdoor_f": 20},
        {"at": "yesterday", "outdoor_f": 20},
        {"at": "2025-01-01T00:00:00Z", "outdoor_f": "cold"},
        {"at": "2025-01-01T00:00:00Z"},
        {},
    ],
)
def test_weather_without_offset_or_number_is_refused(
    program: Program, hour: dict[str, Any]
) -> None:
    """All times carry an offset, all temperatures are numbers."""
    check_refusal(program.put("/api/v1/weather/kmill-1", {"hours": [hour]}))


def test_a_reading_is_given_and_nothing_is_stored(program: Program) -> None:
    """The reading alone, with or without the question that was asked."""
    before = len(program.inbox()), len(program.get("/api/v1/tickets"))
    for body in (
        {"text": "no heat, its 14 C and I have a newborn", "asked": None},
        {"text": "2", "asked": "q_hot"},
        {"text": "sí", "asked": "q_neigh"},
        {"text": ""},
    ):
        answer = program.call("POST", "/api/v1/readings", "desk", json=body)
        assert answer.status_code == 200
        check_reading(answer.json())
    assert (len(program.inbox()), len(program.get("/api/v1/tickets"))) == before


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("no heat and its 58 in here", {"kinds": ["too_cold"], "room_temp": (58, "F")}),
        ("its 14 degrees, freezing", {"kinds": ["too_cold"], "room_temp": (14, "C")}),
        ("hace mucho calor, estamos a 29", {"kinds": ["too_hot"], "room_temp": (29, "C")}),
        ("set to 68 but reads 79", {"setpoint": (68, "F"), "room_temp": (79, "F")}),
        ("huele a gas", {"kinds": ["gas_smell"], "danger": True}),
        ("my co alarm is going off", {"kinds": ["co_alarm"], "danger": True}),
        ("there is water dripping on the outlet", {"danger": True}),
        ("steam burned my hand", {"danger": True}),
        ("radiator is leaking", {"kinds": ["leak"], "danger": False}),
        ("STOP", {"intent": "stop"}),
        ("when is somebody coming?", {"intent": "status_question"}),
        ("heat is back on, thank you", {"intent": "resolved"}),
        ("I want to talk to a person", {"intent": "want_human"}),
        ("pipes bang all night", {"kinds": ["noise"], "noise": "bang"}),
    ],
)
def test_plain_sentences_are_read(program: Program, text: str, expected: dict[str, Any]) -> None:
    """Sentences nobody could take for anything else; units are inferred, 15-30 C and 40-110 F."""
    found = program.call("POST", "/api/v1/readings", "desk", json={"text": text}).json()
    for field, value in expected.items():
        told = found[field]
        if isinstance(value, tuple):
            told = (told["value"], told["unit"]) if told else None
        assert told == value, (field, found)


def test_a_hedged_temperature_is_read(program: Program) -> None:
    """People say 'like 81'; a room at 81 F is too hot."""
    words = {"text": "its like 81 in here"}
    found = program.call("POST", "/api/v1/readings", "desk", json=words).json()
    assert found["room_temp"] == {"value": 81, "unit": "F"}
    assert found["kinds"] == ["too_hot"]


def test_the_inbox_pages_through_every_text(program: Program) -> None:
    """Nothing twice, nothing left out, in the order of arrival, whatever the page size."""
    for n in range(5):
        program.text(number_of(30 + n), "hello", f"page-{n}")
    for limit in (1, 2, 100):
        seen: list[str] = []
        after: str | None = None
        while True:
            query = {"limit": limit} | ({"after": after} if after else {})
            page = program.get("/api/v1/inbox", **query)
            assert set(page) >= {"messages", "next"}
            assert len(page["messages"]) <= limit
            for row in page["messages"]:
                check_mail_row(row)
            seen += [row["id"] for row in page["messages"]]
            if not page["messages"] or page["next"] is None:
                break
            after = page["next"]
        assert [i for i in seen if i.startswith("page-")] == [f"page-{n}" for n in range(5)]
        assert len(seen) == len(set(seen))


def test_the_clock_goes_forward_only(program: Program) -> None:
    """It stands still, moves forward, refuses backwards and keeps the time it had."""
    now = program.now()
    assert program.now() == now
    check_problem(
        program.put("/api/v1/clock", {"now": (now - timedelta(seconds=1)).isoformat()}), 409
    )
    assert program.now() == now
    answer = program.put("/api/v1/clock", {"now": now.isoformat()})
    assert answer.status_code == 200
    program.move(seconds=90)
    assert program.now() == now + timedelta(seconds=90)


@pytest.mark.parametrize("body", [{}, {"now": "soon"}, {"now": "2030-01-01T00:00:00"}, {"now": 5}])
def test_the_clock_takes_times_with_an_offset(program: Program, body: dict[str, Any]) -> None:
    """Everything else is refused."""
    check_refusal(program.put("/api/v1/clock", body))


def test_due_timers_fire_in_order(program: Program) -> None:
    """One long move sends what several short ones would have, oldest first, with the times due."""
    answer = program.text(number_of(0), "no heat, 60 degrees in here")
    check_text_answer(answer)
    check_ticket(program.get(f"/api/v1/tickets/{answer['ticket']}"))
    sent = program.move(hours=3)
    assert sent
    times = [moment(text["send_at"]) for text in sent]
    assert times == sorted(times)
    assert all(t <= program.now() for t in times)
    filed = [json.dumps(line["text"]) for line in program.outbox()][-len(sent) :]
    assert filed == [json.dumps(text["text"]) for text in sent]


@pytest.mark.parametrize("what", ["weather", "building"])
def test_weather_and_buildings_may_be_put_while_complaints_are_open(
    program: Program, what: str
) -> None:
    """The forecast changes every hour, whoever has complained."""
    program.text(number_of(1), "no heat")
    body = program.weather() if what == "weather" else building(HOUSE)
    path = "weather/kmill-1" if what == "weather" else f"buildings/{HOUSE}"
    assert program.put(f"/api/v1/{path}", body).status_code == 200


@pytest.mark.parametrize("missing", ["id", "from", "text"])
def test_a_text_needs_its_fields(program: Program, missing: str) -> None:
    """Without its id, sender or words it is refused and not stored."""
    body = {"id": f"without-{missing}", "from": number_of(2), "to": HOUSE_NUMBER, "text": "cold"}
    body["sent_at"] = program.now().isoformat()
    del body[missing]
    check_refusal(program.call("POST", "/api/v1/texts", "gateway", json=body))
    assert f"without-{missing}" not in {m["id"] for m in program.inbox()}
