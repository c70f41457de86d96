"""A new building file that leaves out what is still open or on file: taken, and told."""

from __future__ import annotations

from typing import Any

from whole_service import BUILDING, Running, building_document, household_rows, mobile


def put(service: Running, without: str | None = None) -> list[dict[str, Any]]:
    """Send the building again, perhaps without an apartment; the warnings."""
    document = building_document()
    for transformer in document["transformers"]:
        transformer["va"] = 100  # else its load is a warning as well
    document["apartments"] = [a for a in document["apartments"] if a["id"] != without]
    answer = service.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document)
    assert answer.status_code == 200, answer.text
    found: list[dict[str, Any]] = answer.json()["warnings"]
    return found


def test_people_on_file_for_a_home_that_is_gone_are_told(service: Running) -> None:
    """Until the households are sent anew, and never by name or number."""
    assert put(service) == []

    (warning,) = put(service, without="2A")

    assert warning["pointer"] == "/apartments"
    assert "no apartment '2A', for which people are on file (count: 1)" in warning["detail"]
    assert "Household" not in warning["detail"]
    rows = [row for row in household_rows() if row["apartment"] != "2A"]
    path = f"/api/v1/buildings/{BUILDING}/households"
    assert service.call("PUT", path, "owner", json=rows).status_code == 200
    assert put(service, without="2A") == []


def test_an_open_complaint_and_readings_of_a_home_that_is_gone_are_told(service: Running) -> None:
    """As long as they are open; the home's neighbours are not told of."""
    for home in ("2A", "1B"):
        service.text(mobile(home), "no heat, freezing in here")
    ticket = service.only_ticket()
    found = service.measure(ticket["id"], test="lever_feel", component="2A.valve", outcome="firm")
    assert found.status_code == 200, found.text

    says = [w["detail"] for w in put(service, without="2A")]

    assert len(says) == 3
    assert "no apartment '2A', whose complaints are open (count: 1)" in says[0]
    assert "no apartment '2A', for which people are on file" in says[1]
    assert "no '2A.valve', where readings of an open ticket were taken (count: 1)" in says[2]
    for each in service.open_tickets():  # 2A's is one of its own now
        service.close(each["id"], note="the flat is now part of 1A")
    assert [w["pointer"] for w in put(service, without="2A")] == ["/apartments"]
