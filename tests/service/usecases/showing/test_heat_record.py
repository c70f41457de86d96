"""The owner's record that the heat law was kept, as a page and as a table."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

from repairs.at_work import page, sign_in, words
from sqlalchemy import event
from whole_service import BUILDING, Running, building_document, household_rows, mobile

from service.auth.roles import Role
from service.usecases.showing.cold_now import cold_now
from service.usecases.staff.audit_read import verify_audit

HEAT = f"/owner/buildings/{BUILDING}/heat"


def table(service: Running) -> list[dict[str, str]]:
    """The table, a line each."""
    answer = service.call("GET", f"{HEAT}/table.csv")
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/csv; charset=utf-8; header=present"
    assert "attachment" in answer.headers["content-disposition"]
    return list(csv.DictReader(io.StringIO(answer.text, newline="")))


def test_each_temperature_stands_beside_the_law_of_its_hour(service: Running) -> None:
    """New York City: 68 F from 6 am to 10 pm if it is under 55 F outdoors, at night 62 F whatever it is
    outdoors (NYC Administrative Code 27-2029), so 65 F is too cold at 7 pm and enough at 11 pm.
    """
    service.text(mobile("1A"), "it is cold, 65 degrees in here")
    service.wait(hours=4)
    service.text(mobile("3B"), "cold here, 65 degrees")
    sign_in(service, Role.OWNER)
    evening, night = table(service)
    assert (evening["apartment"], evening["room_f"], evening["legal_minimum_f"]) == (
        "1A",
        "65.0",
        "68.0",
    )
    assert evening["under_by_f"] == "3.0"
    assert evening["told_at"] == "2026-01-09T19:00:00-05:00"  # 7 pm in New York
    assert evening["outdoor_f"] == "20.0"
    assert (night["apartment"], night["legal_minimum_f"], night["under_by_f"]) == (
        "3B",
        "62.0",
        "0.0",
    )
    shown = words(page(service, HEAT))
    assert "Colder than the heat law allows now: home 1A." in shown
    assert "1A from 7:00 pm, 9 Jan 2026 , goes on 4 h 65 F law 68 F Nothing yet" in shown
    assert (
        "Of 2 temperatures told in hours for which the law asks for heat, 1 was under it." in shown
    )


def test_what_was_done_and_when_it_ended_are_told_without_names(service: Running) -> None:
    """The first act of a person after it, the end of the report; no reason and nobody's name."""
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    ticket = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    service.wait(minutes=30)
    body = {"version": ticket["version"], "to": "R. Moreno"}
    done = service.call("POST", f"/api/v1/tickets/{ticket['id']}/assign", "desk", json=body)
    assert done.is_success, done.text
    sign_in(service, Role.OWNER)
    (line,) = table(service)
    assert line["first_act"] == "given to somebody"
    assert line["first_act_at"] == "2026-01-09T19:30:00-05:00"
    assert line["report_ended_at"] == ""
    assert "Moreno" not in page(service, HEAT)
    service.wait(hours=1)
    service.close(ticket["id"])
    sign_in(service, Role.OWNER)
    (line,) = table(service)
    assert line["report_ended_at"] != ""
    shown = words(page(service, HEAT))
    assert "Colder than the heat law allows now" not in shown
    assert "No home is colder than the heat law allows now." in shown
    assert "the report ended 1 h 30 min 58 F law 68 F Given to somebody after 30 min" in shown


def test_a_temperature_under_the_law_stays_in_the_record_after_the_repair(
    service: Running,
) -> None:
    """What was told was told: closing takes nothing back, nor does opening the report again."""
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    service.wait(hours=3)
    service.close(told["ticket"])
    sign_in(service, Role.OWNER)
    for hours in (0, 15):
        if hours:  # next morning it is asked about, and is still not right
            service.wait(hours=hours)
            service.text(mobile("1A"), "no, still cold")
            sign_in(service, Role.OWNER)
        shown = words(page(service, HEAT))
        assert "1 was under it." in shown
        assert "taken back" not in shown.replace("what was taken back stays", "")
        assert [line["taken_back_at"] for line in table(service)] == [""]
    assert "Colder than the heat law allows now: home 1A." in shown


def test_the_days_between_two_outages_are_not_counted(service: Running) -> None:
    """Mended after two hours, out again four days later in the same report, without a figure."""
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    service.wait(hours=2)
    service.close(told["ticket"])
    service.wait(days=4)
    service.text(mobile("1A"), "no heat again")
    service.wait(hours=5)
    sign_in(service, Role.OWNER)
    shown = words(page(service, HEAT))
    assert "2 h" in shown
    assert "5 h" in shown
    assert "4 days" not in shown


def test_what_a_household_takes_back_stays_but_does_not_count(service: Running) -> None:
    """A slip of the finger, taken back with BACK: its line says so, and nothing was under the law."""
    told = service.text(mobile("3B"), "too cold in here")
    while (asks := service.next_asks(told["replies"])) and asks["topic"] != "q_read":
        told = service.text(mobile("3B"), asks["choices"][0]["say"])
    assert asks is not None
    service.text(mobile("3B"), "45")
    sign_in(service, Role.OWNER)
    assert "1 was under it." in words(page(service, HEAT))
    service.text(mobile("3B"), "back")
    (line,) = table(service)
    assert line["taken_back_at"] != ""
    shown = words(page(service, HEAT))
    assert "Of 0 temperatures told" in shown
    assert "No home has told a temperature under the heat law." in shown


def test_a_building_without_a_word_says_so_and_others_are_not_there(service: Running) -> None:
    """An empty record explains itself; a building nobody knows is no page."""
    sign_in(service, Role.OWNER)
    assert "No temperature told yet" in page(service, HEAT)
    assert table(service) == []
    assert service.call("GET", "/owner/buildings/elsewhere/heat").status_code == 404


def test_the_owner_sees_first_what_presses_most_and_whether_anybody_has_it(
    service: Running,
) -> None:
    """A danger and what is late stand in the first line; who has a ticket is said without a name."""
    cold = service.text(mobile("1A"), "no heat, 58 degrees")["ticket"]
    service.text(mobile("4B"), "I smell gas in my kitchen!")
    body = {"version": service.get(f"/api/v1/tickets/{cold}", "desk")["version"], "to": "R. Moreno"}
    assert service.call("POST", f"/api/v1/tickets/{cold}/assign", "desk", json=body).is_success
    sign_in(service, Role.OWNER)
    html = page(service, "/owner")
    shown = words(html)
    assert "1 danger. 2 troubles open" in shown
    assert shown.index("Smell of gas, home 4B") < shown.index("Too cold, home 1A")
    assert "Nobody has it yet." in shown
    assert "Somebody has it." in shown
    assert "Moreno" not in html
    assert f'href="{HEAT}"' in html


def test_the_owner_sees_at_once_where_the_law_is_not_kept(service: Running) -> None:
    """On the first page, home by home; told warm again, it is gone, and the record keeps the hours."""
    service.text(mobile("1A"), "no heat, 58 degrees")
    service.text(mobile("3B"), "way too hot, 84 degrees")
    sign_in(service, Role.OWNER)
    shown = words(page(service, "/owner"))
    assert "Colder than the heat law allows now: 1 home." in shown
    assert "9 Quarry Street Colder than the heat law allows now: home 1A." in shown
    service.wait(hours=2, minutes=30)
    service.text(mobile("1A"), "it is 70 degrees now but the radiator still bangs")
    sign_in(service, Role.OWNER)
    assert "Colder than the heat law allows now" not in page(service, "/owner")
    record = words(page(service, HEAT))
    assert "from 7:00 pm, 9 Jan 2026 to 9:30 pm, 9 Jan 2026 : 70 F told 2 h 30 min 58 F" in record


def test_the_record_says_what_the_law_asks_for_and_how_each_thing_is_known(
    service: Running,
) -> None:
    """A reader who knows neither the house nor the law: hours and limits (NYC Administrative Code
    27-2029), where they were read, the weather station, and that no sensor is behind it.
    """
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    sign_in(service, Role.OWNER)
    shown = words(page(service, HEAT))
    assert (
        "New York City, Administrative Code 27-2029: from 1 October to 31 May at least 68 F from "
        "6:00 am to 10:00 pm while it is under 55 F outdoors; 62 F from 10:00 pm to 6:00 am."
        in shown
    )
    assert "the weather station kqry" in shown
    assert "None is of a sensor" in shown
    (line,) = table(service)
    assert line["message"] == told["message"]


def test_all_that_was_done_stands_in_the_record_with_what_was_fitted(service: Running) -> None:
    """Report, assignment, closing with its cause and part, the household's word of next morning."""
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    ticket = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    body = {"version": ticket["version"], "to": "R. Moreno"}
    service.wait(minutes=30)
    path = f"/api/v1/tickets/{ticket['id']}/assign"
    assert service.call("POST", path, "desk", json=body).is_success
    service.wait(hours=1)
    fitted = [{"part": "circulator", "quantity": 1}]
    service.close(ticket["id"], fault="pump_seized", component="pump-1", parts=fitted)
    service.wait(hours=15)
    service.text(mobile("1A"), "yes")
    sign_in(service, Role.OWNER)
    html = page(service, HEAT)
    shown = words(html)
    done = shown[shown.index("All that was done") : shown.index("How this is known")]
    order = ["1A reported it", "Given to somebody", "Closed by a technician", "right now"]
    assert [done.index(piece) for piece in order] == sorted(done.index(piece) for piece in order)
    assert "(pump-1); fitted: Circulator" in done
    assert "Moreno" not in html


def test_what_was_done_before_two_tickets_were_merged_is_not_lost(service: Running) -> None:
    """A time is changed on one ticket, then it becomes part of another: the record still has it."""
    cold = service.text(mobile("1A"), "no heat, 58 degrees")["ticket"]
    noise = service.text(mobile("4B"), "loud banging in the pipes")["ticket"]

    def act(ticket: str, verb: str, **body: Any) -> None:
        body["version"] = service.get(f"/api/v1/tickets/{ticket}", "desk")["version"]
        answer = service.call("POST", f"/api/v1/tickets/{ticket}/{verb}", "desk", json=body)
        assert answer.is_success, answer.text

    act(cold, "assign", to="R. Moreno")
    act(cold, "merge", into=noise)
    sign_in(service, Role.OWNER)
    shown = words(page(service, HEAT))
    done = shown[shown.index("All that was done") : shown.index("How this is known")]
    assert f"T-{noise[2:6].upper()}" in done
    assert "Given to somebody" in done


def test_the_record_of_some_days_keeps_whole_spells(service: Running) -> None:
    """Days choose what was told; a spell that began before them keeps its beginning."""
    service.text(mobile("1A"), "no heat, 58 degrees")  # 9 Jan, 7 pm in New York
    service.wait(hours=24)
    service.text(mobile("1A"), "now 60 degrees")
    sign_in(service, Role.OWNER)
    shown = words(page(service, f"{HEAT}?first=2026-01-10&last=2026-01-10"))
    assert "Told from 10 Jan 2026 to 10 Jan 2026: of 1 temperature" in shown
    assert "from 7:00 pm, 9 Jan 2026 , goes on 1 day 58 F" in shown
    before = words(page(service, f"{HEAT}?last=2026-01-08"))
    assert "No temperature was told in these days." in before
    answer = service.call("GET", f"{HEAT}/table.csv?first=2026-01-10")
    assert len(list(csv.DictReader(io.StringIO(answer.text, newline="")))) == 1
    assert len(table(service)) == 2
    assert service.call("GET", f"{HEAT}?first=tomorrow").status_code == 200


def test_the_printed_record_can_be_held_against_the_log(service: Running) -> None:
    """The page names the log's last line; the check of the log finds that hash."""
    told = service.text(mobile("1A"), "no heat, 58 degrees")
    ticket = service.get(f"/api/v1/tickets/{told['ticket']}", "desk")
    path = f"/api/v1/tickets/{ticket['id']}/assign"
    body = {"version": ticket["version"], "to": "R. Moreno"}
    assert service.call("POST", path, "desk", json=body).is_success
    sign_in(service, Role.OWNER)
    html = page(service, HEAT)
    head = re.search(r'<code class="hash">(\w+)</code>', html)
    assert head is not None
    with service.services.db.reading() as session:
        found = verify_audit(session, head[1])
    assert found.broken is None


def test_the_first_page_asks_as_much_for_many_buildings_as_for_one(service: Running) -> None:
    """The queries for what is colder than the law do not grow with the buildings."""
    service.text(mobile("1A"), "no heat, 58 degrees")
    counts = [_queries(service)]
    for n in range(3):
        name = f"mill-{n}"
        document = building_document(name, f"{n} Mill Lane")
        rows = household_rows(document)
        for row in rows:
            row["mobile"] = f"+1212555{n + 2}{row['mobile'][-3:]}"
        assert service.call("PUT", f"/api/v1/buildings/{name}", "owner", json=document).is_success
        path = f"/api/v1/buildings/{name}/households"
        assert service.call("PUT", path, "owner", json=rows).is_success
        service.text(rows[0]["mobile"], "no heat, 59 degrees")
        counts.append(_queries(service))
    assert counts[0] == counts[-1]
    with service.services.db.reading() as session:
        assert cold_now(session) == {
            BUILDING: ("1A",),
            "mill-0": ("1A",),
            "mill-1": ("1A",),
            "mill-2": ("1A",),
        }


def _queries(service: Running) -> int:
    """How many statements it takes to find what is colder than the law allows."""
    said: list[str] = []
    engine = service.services.db.engine

    def note(*args: Any) -> None:
        said.append(str(args[2]))

    with service.services.db.reading() as session:
        event.listen(engine, "before_cursor_execute", note)
        try:
            cold_now(session)
        finally:
            event.remove(engine, "before_cursor_execute", note)
    return len(said)
