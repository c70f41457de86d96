"""Building files of odd houses: refused with what to write, or taken, warned of and diagnosed."""

from __future__ import annotations

from typing import Any

from whole_service import BUILDING, Running, building_document, household_rows, mobile


def put(service: Running, document: dict[str, Any]) -> Any:
    """Load a building."""
    return service.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document)


def move_in(service: Running) -> None:
    """Its households."""
    path = f"/api/v1/buildings/{BUILDING}/households"
    answer = service.call("PUT", path, "owner", json=household_rows())
    assert answer.status_code == 200, answer.text


def test_an_apartment_without_a_zone_is_refused_with_what_to_write(empty: Running) -> None:
    """Zoning and loop are named at the apartment that lacks them, both at once."""
    document = building_document()
    del document["apartments"][2]["zoning"]
    del document["apartments"][3]["loop"]

    answer = put(empty, document)

    assert answer.status_code == 422
    errors = {e["pointer"]: e["detail"] for e in answer.json()["errors"]}
    assert {"/apartments/2/zoning", "/apartments/3/loop"} <= set(errors)
    assert all("missing" in errors[p] for p in ("/apartments/2/zoning", "/apartments/3/loop"))


def test_an_apartment_that_nothing_controls_is_diagnosed(empty: Running) -> None:
    """Without valve and thermostat what is left are pipes, emitter and the shared plant."""
    document = building_document()
    for home in document["apartments"]:
        home["zoning"] = "none"
        del home["valve"], home["thermostat"]
    assert put(empty, document).status_code == 200
    move_in(empty)

    empty.text(mobile("1A"), "no heat, freezing in here")

    suspects = empty.only_ticket()["suspects"]
    assert suspects
    assert not any(s["component"].endswith((".valve", ".thermostat")) for s in suspects)


def test_a_plant_without_dates_is_diagnosed_like_one_of_middle_age(empty: Running) -> None:
    """Nothing is dated: rates are taken as stated, and a ticket has suspects, checks and a load."""
    document = building_document()
    del document["built"]
    parts = [*document["heat_sources"], *document["transformers"]]
    for loop in document["loops"]:
        parts += [loop["circulator"], loop["relay"]]
    for home in document["apartments"]:
        parts += [home["valve"], home["thermostat"]]
    for part in parts:
        part.pop("installed", None)
    assert put(empty, document).status_code == 200
    move_in(empty)

    for home in ("1A", "1B", "2A"):
        empty.text(mobile(home), "no heat, freezing in here")
    ticket = empty.only_ticket()

    assert ticket["suspects"]
    assert ticket["checks"]
    assert ticket["load"]
    assert set(ticket["suspects"][0]["explains"]) == {"1A", "1B", "2A"}


def test_what_a_building_file_leaves_idle_is_told_and_taken(empty: Running) -> None:
    """A transformer that nothing names and a loop without a relay are warnings."""
    document = building_document()
    document["transformers"].append({"id": "xf-3", "va": 40})
    del document["loops"][1]["relay"]

    answer = put(empty, document)

    assert answer.status_code == 200
    told = {w["pointer"] for w in answer.json()["warnings"]}
    assert {"/transformers/2/id", "/loops/1/relay"} <= told
    assert "/loops/0/relay" not in told


def test_what_is_only_a_warning_is_marked_where_a_file_is_refused(empty: Running) -> None:
    """Reasons stand first, each a sentence and what to write; nobody corrects a warning to be let in."""
    document = building_document()
    document["transformers"][0]["va"] = 20
    del document["apartments"][0]["zoning"]

    answer = put(empty, document)

    assert answer.status_code == 422
    first, *others = [e["detail"] for e in answer.json()["errors"]]
    assert first == "'zoning' is missing. Write zone_valve, zone_circulator, trv or none."
    assert others
    assert all(detail.startswith("warning: ") for detail in others)
