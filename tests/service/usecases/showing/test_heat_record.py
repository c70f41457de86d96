"""The owner's record that the heat law was kept, as a page and as a table."""

from __future__ import annotations

import csv
import io

from repairs.at_work import page, sign_in, words
from whole_service import BUILDING, Running, mobile

from service.auth.roles import Role

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
    assert "Under the heat law now: home 1A." in shown
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
    assert "Under the heat law now" not in shown
    assert "No home is under the heat law now." in shown
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
    assert "Under the heat law now: home 1A." in shown


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
    assert "Given to somebody." in shown
    assert "Moreno" not in html
    assert f'href="{HEAT}"' in html


def test_the_owner_sees_at_once_where_the_law_is_not_kept(service: Running) -> None:
    """On the first page, home by home; told warm again, it is gone, and the record keeps the hours."""
    service.text(mobile("1A"), "no heat, 58 degrees")
    service.text(mobile("3B"), "way too hot, 84 degrees")
    sign_in(service, Role.OWNER)
    shown = words(page(service, "/owner"))
    assert "Under the heat law now: 1 home." in shown
    assert "9 Quarry Street Under the heat law now: home 1A." in shown
    service.wait(hours=2, minutes=30)
    service.text(mobile("1A"), "it is 70 degrees now but the radiator still bangs")
    sign_in(service, Role.OWNER)
    assert "Under the heat law now" not in page(service, "/owner")
    record = words(page(service, HEAT))
    assert "from 7:00 pm, 9 Jan 2026 to 9:30 pm, 9 Jan 2026 : 70 F told 2 h 30 min 58 F" in record
