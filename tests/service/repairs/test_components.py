"""A component's page, its label, and what the owner sees of the parts."""

from __future__ import annotations

import io
import re
from typing import Any
from xml.etree import ElementTree as ET

import segno
from at_work import cold_ticket, page, sign_in, words
from hypothesis import given
from hypothesis import strategies as st
from whole_service import BUILDING, Running, building_document, household_rows, mobile

from service.auth.roles import Role
from service.pages.repairs.label import QUIET, label_svg
from service.usecases.repairs.part_label import Label

SVG = "{http://www.w3.org/2000/svg}"


PUMP = {"component": "pump-1", "parts": [{"part": "circulator", "quantity": 1}]}


def replaced(service: Running, **body: Any) -> None:
    """A circulator that was fitted new after a complaint."""
    ticket = cold_ticket(service, "1A", "1B")
    service.close(
        ticket["id"], **({"fault": "pump_seized", "installed": "2026-01-09"} | PUMP | body)
    )


def test_a_ticket_says_what_was_done_here_before(service: Running) -> None:
    """The last repairs of what is suspected and of its homes, with the part; not of other homes."""
    sign_in(service, Role.TRUCK)
    first = cold_ticket(service, "1A", "1B")
    assert "No repair on record" in words(page(service, f"/truck/tickets/{first['id']}"))
    service.close(first["id"], fault="pump_seized", installed="2026-01-09", **PUMP)
    service.wait(days=20)
    sign_in(service, Role.TRUCK)
    again = cold_ticket(service, "2A", "2B")
    shown = words(page(service, f"/truck/tickets/{again['id']}"))
    assert "What was done here before" in shown
    before = shown[shown.index("What was done here before") :]
    assert re.match(r".{0,60} pump-1 : \S.* seize.*, fitted .*irculator", before[:200]), before[
        :200
    ]
    assert first["reference"] in shown
    service.text(mobile("4B"), "the valve of my radiator drips")
    (leak,) = [t for t in service.open_tickets() if "4B" in t["apartments"]]
    assert first["reference"] not in words(page(service, f"/truck/tickets/{leak['id']}"))


def test_an_open_ticket_that_suspects_a_part_stands_on_its_page(service: Running) -> None:
    """As a suspicion with its chance, apart from the tickets that turned out to be about the part."""
    sign_in(service, Role.TRUCK)
    ticket = cold_ticket(service, "1A", "1B", "2A")
    suspects = ticket["suspects"]
    second = next(s["component"] for s in suspects if s["component"] != suspects[0]["component"])
    for component in (suspects[0]["component"], second):
        parts = ticket["by_component"]
        (share,) = (p["probability"] for p in parts if p["component"] == component)
        html = page(service, f"/plant/{BUILDING}/{component}")
        assert f'href="/truck/tickets/{ticket["id"]}"' in html
        shown = words(html)
        assert "Suspected in open tickets" in shown
        assert f"{ticket['reference']} : {round(share * 100)} %" in shown
        assert ("the first suspect" in shown) is (component == suspects[0]["component"])
        assert "Tickets that were about it None so far." in shown
    unsuspected = page(service, f"/plant/{BUILDING}/4B.valve")
    assert "Suspected in open tickets" not in unsuspected


def test_a_component_says_what_it_is_and_what_hangs_on_it(service: Running) -> None:
    """Kind, place, whom it serves and by what it is fed."""
    sign_in(service, Role.TRUCK)

    pump = words(page(service, f"/plant/{BUILDING}/pump-1"))
    assert "Circulator. Boiler room, loop-1." in pump
    assert "Brings heat to homes 1A, 1B, 2A, 2B" in pump
    assert "Called by relay-1" in pump
    relay = words(page(service, f"/plant/{BUILDING}/relay-1"))
    assert "24 V from xf-1" in relay
    valve = words(page(service, f"/plant/{BUILDING}/3B.valve"))
    assert "Zone valve with a motor, four wires. Apartment 3B, floor 3, line B, loop-2." in valve
    assert "Brings heat to home 3B" in valve
    transformer = words(page(service, f"/plant/{BUILDING}/xf-2"))
    assert "24 V transformer, 40 VA" in transformer
    assert "Brings 24 V to homes 3A, 3B, 4A, 4B" in transformer
    for nothing in ("pump-9", "<b>", "../../etc", "no such"):
        assert service.call("GET", f"/plant/{BUILDING}/{nothing}").status_code == 404
    assert service.call("GET", "/plant/elsewhere/pump-1").status_code == 404


def test_a_part_that_was_replaced_tells_how_long_it_lasted(service: Running) -> None:
    """Fitted 2019-10 by the file, failed on 2026-01-09: it lasted six years; the next one is new."""
    sign_in(service, Role.TRUCK)
    before = words(page(service, f"/plant/{BUILDING}/pump-1"))
    assert "from 0 that failed and 2 that did not" in before

    replaced(service, note="seized solid")

    shown = words(page(service, f"/plant/{BUILDING}/pump-1"))
    assert "9 Jan 2026 Circulator" in shown
    assert "in service" in shown
    assert "Oct 2019 As the building file states it: lasted 6 years, failed" in shown
    assert "Installed 9 Jan 2026" in shown
    assert "from 1 that failed and 2 that did not" in shown
    assert "Circulator" in shown
    assert "seized solid" in shown


def test_a_part_changed_for_another_reason_is_no_failure(service: Running) -> None:
    """A pump that is changed without a fault of its own is known to have lasted so long at least."""
    sign_in(service, Role.TRUCK)
    replaced(service, fault=None)

    shown = words(page(service, f"/plant/{BUILDING}/pump-1"))
    assert "lasted 6 years, changed for another reason" in shown
    assert "from 0 that failed and 3 that did not" in shown


def test_readings_and_tickets_of_a_component(service: Running) -> None:
    """What was measured at it, and what it turned out to be."""
    ticket = cold_ticket(service, "1A", "1B")
    body = {"test": "pump_volts", "component": "pump-1", "value": 0, "unit": "V"}
    service.call("POST", f"/api/v1/tickets/{ticket['id']}/findings", "truck", json=body)
    service.close(ticket["id"], fault="pump_seized", **PUMP)
    sign_in(service, Role.DESK)

    shown = page(service, f"/plant/{BUILDING}/pump-1")
    assert "Pump volts at pump-1: 0 V" in words(shown)
    assert f'href="/desk/tickets/{ticket["id"]}"' in shown
    home = words(page(service, f"/plant/{BUILDING}/1A"))
    assert ticket["reference"] in home
    assert "None so far" in words(page(service, f"/plant/{BUILDING}/pump-2"))


def test_no_names_and_no_numbers(service: Running) -> None:
    """A component's page says nothing about people, whoever reads it; nobody reads it unsigned."""
    for address in (f"/plant/{BUILDING}/pump-1", f"/plant/{BUILDING}/pump-1/label"):
        assert service.call("GET", address).status_code == 401
    replaced(service)
    people = [word for row in household_rows() for word in (row["name"], row["mobile"])]
    for role in (Role.DESK, Role.TRUCK, Role.OWNER):
        sign_in(service, role)
        for component in ("pump-1", "1A", "1A.valve", "boiler-1", BUILDING):
            shown = page(service, f"/plant/{BUILDING}/{component}")
            assert not [word for word in people if word in shown]
    # The owner, who came last, prints no labels.
    assert service.call("GET", f"/plant/{BUILDING}/pump-1/label").status_code == 403


def test_the_owner_sees_what_to_replace_first(service: Running) -> None:
    """Oldest against its kind's life first; what was just fitted last; a file without dates says so."""
    document = building_document()
    document["loops"][1]["circulator"].pop("installed")
    assert (
        service.call("PUT", f"/api/v1/buildings/{BUILDING}", "owner", json=document).status_code
        == 200
    )
    replaced(service)
    sign_in(service, Role.OWNER)

    shown = page(service, f"/owner/buildings/{BUILDING}")
    order = re.findall(rf'href="/plant/{BUILDING}/([^"]+)"', shown)
    # Valves of 2014 (half last 12 years) before thermostats of 2016 (15 years), before a new pump.
    assert order.index("1A.valve") < order.index("1A.thermostat") < order.index("pump-1")
    assert order[-1] == "pump-2"  # nobody knows its age
    assert "About " in shown
    overview = page(service, "/owner")
    assert f"/owner/buildings/{BUILDING}" in overview
    assert "/owner/record" in overview
    record = words(page(service, "/owner/record"))
    assert "In 1 closed ticket with a named cause" in record
    assert service.call("GET", "/owner/buildings/elsewhere").status_code == 404


def drawn(svg: str) -> tuple[list[list[int]], str]:
    """The modules of the code in a label, and its words."""
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    code = root.find(f"{SVG}svg")
    assert code is not None
    side = int(code.attrib["viewBox"].split()[-1]) - 2 * QUIET
    path = code.find(f"{SVG}path")
    assert path is not None
    modules = [[0] * side for _ in range(side)]
    for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", path.attrib["d"]):
        modules[int(y) - QUIET][int(x) - QUIET] = 1
    return modules, " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))


def test_the_label_leads_to_the_parts_page(service: Running) -> None:
    """What, where, since when, and a code that says the page's address."""
    replaced(service)
    sign_in(service, Role.TRUCK)

    answer = service.call("GET", f"/plant/{BUILDING}/pump-1/label.svg")

    assert answer.headers["content-type"].startswith("image/svg+xml")
    modules, said = drawn(answer.text)
    expected = segno.make(
        f"http://127.0.0.1:8025/plant/{BUILDING}/pump-1", error="m", micro=False
    ).matrix
    assert modules == [list(row) for row in expected]
    assert "pump-1 9 Quarry Street Circulator 2026-01-09 T-" in said
    assert "<svg" in page(service, f"/plant/{BUILDING}/pump-1/label")
    sheet = page(service, f"/plant/{BUILDING}/2A.valve/label")
    assert "2014-03-01" in sheet  # nothing was fitted: what the building file states


@given(st.text(max_size=60), st.text(max_size=60))
def test_no_text_breaks_the_label(component: str, name: str) -> None:
    """Whatever a building file calls a part, the drawing is well formed and nothing in it runs."""
    label = Label("b", name, component, "Relay <script>", None, "T-7F3K")
    svg = str(label_svg(label, "http://127.0.0.1/plant/b/c"))

    root = ET.parse(io.StringIO(svg)).getroot()  # noqa: S314 - our own drawing
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {
        "svg", "rect", "path", "g", "text",
    }  # fmt: skip


def test_lives_of_all_buildings_are_learned_from_together(service: Running) -> None:
    """A second building with the same kind of pump adds its two to what is known."""
    other = building_document("mill-22", "22 Mill Lane")
    assert service.call("PUT", "/api/v1/buildings/mill-22", "owner", json=other).status_code == 200
    sign_in(service, Role.TRUCK)

    assert "from 0 that failed and 4 that did not" in words(page(service, "/plant/mill-22/pump-1"))
    assert mobile("1A") not in page(service, "/plant/mill-22/pump-1")
