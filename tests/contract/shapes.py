"""The shapes of what the program answers with, field by field."""

from __future__ import annotations

from typing import Any

import httpx
from program import moment

from rules.faults.catalogue import checks, faults, parts

LANGUAGES = {"en", "es", "mixed"}
INTENTS = {
    "complaint",
    "answer",
    "status_question",
    "resolved",
    "cancel",
    "want_human",
    "stop",
    "start",
    "help",
    "other",
}
KINDS = {
    "too_cold",
    "too_hot",
    "no_hot_water",
    "noise",
    "leak",
    "gas_smell",
    "co_alarm",
    "smoke",
    "electrical",
    "other",
}
NOISES = {"bang", "gurgle", "tick", "hum", "hiss", "rumble", "other"}
CARES = {"infant", "child", "over65", "pregnant", "medical"}
SCOPES = {"apartment", "loop", "transformer", "source", "building", "riser"}
STATES_OF_MAIL = {"pending", "read", "set_aside"}
VIAS = {"smtp", "http", "web"}


def names(rows: Any) -> set[str]:
    """Ids of a catalogue, however it keeps them."""
    return {str(getattr(row, "id", row)) for row in rows}


FAULTS, TESTS, PARTS = names(faults()), names(checks()), names(parts())


def check_problem(answer: httpx.Response, status: int) -> dict[str, Any]:
    """An error as RFC 9457 has it."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"].split(";")[0] == "application/problem+json"
    found: dict[str, Any] = answer.json()
    assert found["status"] == status
    assert isinstance(found["title"], str)
    assert isinstance(found.get("type", "about:blank"), str)
    return found


def check_refusal(answer: httpx.Response) -> list[dict[str, str]]:
    """A refused file: every problem with its pointer."""
    errors = check_problem(answer, 422)["errors"]
    assert errors
    for error in errors:
        assert error["pointer"] == "" or error["pointer"].startswith("/"), error
        assert error["detail"]
    return list(errors)


def check_temperature(found: Any) -> None:
    """A number with its unit, or nothing."""
    if found is not None:
        assert isinstance(found["value"], int | float)
        assert found["unit"] in {"F", "C"}


def check_reading(found: dict[str, Any]) -> None:
    """The values of section 4."""
    assert found["language"] in LANGUAGES
    assert found["intent"] in INTENTS
    assert set(found["kinds"]) <= KINDS
    assert len(found["kinds"]) == len(set(found["kinds"]))
    assert isinstance(found["danger"], bool)
    check_temperature(found["room_temp"])
    check_temperature(found["setpoint"])
    assert found["noise"] in NOISES | {None}
    assert set(found["care"]) <= CARES
    assert found["emitter"] in {"hot", "lukewarm", "cold", None}
    assert found["window_open"] in {True, False, None}
    assert found["thermostat_blank"] in {True, False, None}
    assert found["rooms"] in {"all", "some", None}


def check_reply(found: dict[str, Any]) -> None:
    """A text that goes out."""
    assert found["to"].startswith("+1")
    assert found["text"]
    assert isinstance(found["segments"], int)
    assert found["segments"] >= 1
    moment(found["send_at"])
    if found["asks"] is not None:
        assert isinstance(found["asks"]["topic"], str)
        for choice in found["asks"]["choices"]:
            assert isinstance(choice["say"], str)
            assert isinstance(choice["means"], str)


def check_text_answer(found: dict[str, Any]) -> None:
    """What a text is answered with."""
    assert found["message"].startswith("m_")
    assert isinstance(found["duplicate"], bool)
    assert found["complaint"] is None or found["complaint"].startswith("c_")
    assert found["ticket"] is None or found["ticket"].startswith("t_")
    check_reading(found["reading"])
    for reply in found["replies"]:
        check_reply(reply)


def check_ticket(found: dict[str, Any]) -> None:
    """Section 5."""
    assert found["id"].startswith("t_")
    assert found["state"] in {"open", "closed"}
    assert isinstance(found["danger"], bool)
    assert moment(found["opened_at"])
    assert moment(found["respond_by"])
    assert found["because"]
    for reason in found["because"]:
        assert reason["rule"]
        assert reason["source"]
        moment(reason["at"])
    assert found["scope"] in SCOPES
    assert isinstance(found["component"], str)
    assert found["apartments"]
    assert all(c.startswith("c_") for c in found["complaints"])
    _check_suspects(found)
    _check_work(found)


def _check_suspects(found: dict[str, Any]) -> None:
    shares = [s["probability"] for s in found["suspects"]]
    assert all(0 <= share <= 1 for share in shares)
    assert sum(shares) <= 1 + 1e-9
    # One suspect for each of the likeliest components first, then the rest by probability.
    first = [s["component"] for s in found["suspects"][:3]]
    components = {s["component"] for s in found["suspects"]}
    assert len(set(first)) == min(3, len(components))
    assert shares[3:] == sorted(shares[3:], reverse=True)
    for suspect in found["suspects"]:
        assert suspect["fault"] in FAULTS
        assert isinstance(suspect["component"], str)
        assert set(suspect["explains"]) <= set(found["apartments"])


def _check_work(found: dict[str, Any]) -> None:
    for check in found["checks"]:
        assert check["test"] in TESTS
        assert isinstance(check["component"], str)
        assert check["healthy"]
        assert check["tells"]
        assert check["minutes"] > 0
    for part in found["load"]:
        assert part["part"] in PARTS
        assert isinstance(part["quantity"], int)
        assert 0 <= part["chance_used"] <= 1
    for reason in found["why"]:
        assert reason["says"]
        assert reason["message"] is None or reason["message"].startswith("m_")
        assert reason["for"] in FAULTS
        assert isinstance(reason["weight"], int | float)


def check_mail_row(found: dict[str, Any]) -> None:
    """A row of the inbox."""
    assert isinstance(found["id"], str)
    assert found["from"].startswith("+1")
    assert found["via"] in VIAS
    assert found["state"] in STATES_OF_MAIL
    assert found["complaint"] is None or found["complaint"].startswith("c_")
    moment(found["received_at"])
