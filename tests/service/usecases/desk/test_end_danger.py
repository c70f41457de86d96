"""No danger after all: who may say so, who is told, what goes on, and how it is one again."""

from __future__ import annotations

import json
from typing import Any

import pytest
from at_the_desk import act, acts_of, done, says, ticket_of, undo_last
from home.at_the_door import visitor
from sqlalchemy import select
from whole_service import EVENING, Running, mobile

from rules.asking.danger_reply import danger_reply
from service.store.tables import AuditRow, FactRow

GAS = "I smell gas in the kitchen"
GAS_AND_COLD = "no heat, 58 in here, and I smell gas in the kitchen"
TOAST = "there is smoke in my kitchen, smoke alarm going off"


def alerts(service: Running) -> list[dict[str, Any]]:
    """Dangers that nobody has acknowledged."""
    return [a for a in service.get("/api/v1/alerts?state=open", "desk") if a["danger"]]


def heard(service: Running, ticket: str) -> int:
    """The newest alert of a danger of a ticket."""
    found = service.get("/api/v1/alerts", "desk")
    return max((a["id"] for a in found if a["ticket"] == ticket and a["danger"]), default=0)


def end(service: Running, ticket: str, found_by: str = "fire", **more: Any) -> dict[str, Any]:
    """The desk ends the danger of a ticket."""
    body = {"name": "Engine 9", "reason": "nothing found", "heard": heard(service, ticket)} | more
    return act(service, ticket, "no-danger", found_by=found_by, **body)


def refusal(service: Running, ticket: str, found_by: str, **more: Any) -> tuple[int, str]:
    """The status and the words of what is not done."""
    body = {"name": "Engine 9", "reason": "nothing found", "heard": heard(service, ticket)} | more
    body |= {"found_by": found_by, "version": ticket_of(service, ticket)["version"]}
    answer = service.call("POST", f"/api/v1/tickets/{ticket}/no-danger", "desk", json=body)
    found = answer.json()
    return answer.status_code, found["detail"] + " ".join(
        e["pointer"] + " " + e["detail"] for e in found.get("errors", [])
    )


def texts_since(service: Running, before: int) -> list[tuple[str, str]]:
    """What went out since then, as (phone, words)."""
    service.wait(seconds=1)
    return [(out.to, out.text) for out in service.gateway.sent[before:]]


def test_a_report_of_nothing_else_is_closed(service: Running) -> None:
    """The ticket leaves the queue; the home is told by whom it was found; no alert is left."""
    gas = service.text(mobile("1A"), GAS)
    service.wait(minutes=25)
    assert alerts(service)
    before = len(service.gateway.sent)

    after = end(service, gas["ticket"], "gas", name="Truck 4", reason="neighbor's paint")

    assert (after["state"], after["danger"]) == ("closed", False)
    assert service.open_tickets() == []
    assert alerts(service) == []
    assert after["because"]  # what it was due for stays on record
    assert says(service, gas["ticket"])[-1].startswith(("Closed: no danger after all", "Desk"))
    ((to, words),) = texts_since(service, before)
    assert to == mobile("1A")
    assert "The gas crew looked and found no danger" in words
    assert "call 911" in words
    assert "We close your report" in words
    assert service.wait(hours=12) == []
    assert alerts(service) == []


def test_what_else_was_reported_goes_on_with_its_own_time(service: Running) -> None:
    """Cold at 58 F stays a ticket, is no danger, and is not late for what was none."""
    gas = service.text(mobile("1A"), GAS_AND_COLD)
    cold = service.text(mobile("3B"), "no heat, 58 in here")
    service.wait(hours=1)

    after = end(service, gas["ticket"])

    assert (after["state"], after["danger"]) == ("open", False)
    plain = ticket_of(service, cold["ticket"])
    assert {b["rule"] for b in after["because"]} == {b["rule"] for b in plain["because"]}
    assert not any("danger to life" in b["rule"] for b in after["because"])
    told = service.get(f"/api/v1/complaints/{gas['complaint']}", "desk")
    assert told["kinds"] == ["too_cold"]
    with service.services.db.reading() as session:
        counted = session.scalars(select(FactRow).where(FactRow.withdrawn_at.is_(None))).all()
        assert not any("gas_smell" in fact.body.get("kinds", ()) for fact in counted)
    # The machine hears the household again: it is no relay of a danger.
    answer = service.text(mobile("1A"), "only the bedroom is cold")
    assert not any("Stay out" in reply["text"] for reply in answer["replies"])


def test_homes_are_told_in_their_language_each_phone_once(service: Running) -> None:
    """Two homes on one ticket, one writes Spanish; who was not told to leave is told nothing."""
    english = service.text(mobile("1A"), GAS)
    service.text(mobile("4B"), "huele a gas en la cocina")
    service.text(mobile("4B"), "todavia huele a gas")
    cold = service.text(mobile("3B"), "no heat, 58 in here")
    before = len(service.gateway.sent)

    end(service, english["ticket"])

    told = dict(texts_since(service, before))
    assert set(told) == {mobile("1A"), mobile("4B")}
    assert len(service.gateway.sent) == before + 2
    assert "fire crew" in told[mobile("1A")]
    assert "Los bomberos miraron y no hay peligro" in told[mobile("4B")]
    assert ticket_of(service, cold["ticket"])["state"] == "open"


def test_at_night_they_are_told_at_once(service: Running) -> None:
    """People stand outside: the text does not wait for the morning."""
    service.move(EVENING.replace(hour=8))  # 3 am in New York
    gas = service.text(mobile("1A"), GAS)
    before = len(service.gateway.sent)
    end(service, gas["ticket"])
    assert len(texts_since(service, before)) == 1


def test_a_burn_sent_nobody_out_so_nobody_is_called_back(service: Running) -> None:
    """First aid told nobody to leave."""
    burn = service.text(mobile("1A"), "I got scalded by the steam, my arm is burned")
    assert ticket_of(service, burn["ticket"])["danger"]
    before = len(service.gateway.sent)
    end(service, burn["ticket"], "tenant", name="", reason="the tap was only warm")
    assert texts_since(service, before) == []


@pytest.mark.parametrize("found_by", ["tenant", "technician"])
def test_gas_is_not_ended_by_a_call_or_by_us(service: Running, found_by: str) -> None:
    """A nose gets used to gas: the fire department or the gas company has to have been there."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    status, words = refusal(service, gas, found_by)
    assert status == 422
    assert "the fire department, or the gas company" in words
    assert ticket_of(service, gas)["danger"]


def test_whoever_was_there_is_named_and_a_reason_is_given(service: Running) -> None:
    """Without a name or without a reason nothing is done."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    assert refusal(service, gas, "fire", name=" ")[0] == 422
    assert "/name" in refusal(service, gas, "fire", name=" ")[1]
    assert "/reason" in refusal(service, gas, "fire", reason="  ")[1]
    assert ticket_of(service, gas)["danger"]


def test_money_for_the_car_is_misread_and_said_so(service: Running) -> None:
    """A text that meant something else reported no danger; the home says so by telephone."""
    gas = service.text(mobile("1A"), "my car smells like gas and it is cold in here, no heat")
    before = len(service.gateway.sent)
    after = end(service, gas["ticket"], "misread", name="", reason="meant the car in the street")
    assert not after["danger"]
    ((_, words),) = texts_since(service, before)
    assert "We took your text for a danger" in words
    assert "stays open" in words


def test_what_one_home_says_ends_no_other_homes_danger(service: Running) -> None:
    """Two homes smell it: neither speaks for the other."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    assert service.text(mobile("4B"), GAS)["ticket"] == gas
    assert refusal(service, gas, "misread")[0] == 422
    assert ticket_of(service, gas)["danger"]


def test_a_press_on_the_danger_button_cannot_be_misread(service: Running) -> None:
    """Whoever chose "I smell gas" on the page meant it."""
    tenant = visitor(service, "1A")
    tenant.open("danger")
    tenant.send_exactly("danger", {"kind": "gas", "once": "one"})
    ticket = service.only_ticket()
    assert ticket["danger"]
    assert refusal(service, ticket["id"], "misread")[0] == 422
    assert end(service, ticket["id"], "gas")["state"] == "closed"
    assert "The gas crew looked and found no danger." in tenant.open()
    service.wait(days=2)
    assert "There was no danger. We closed that report." in tenant.open()


def test_a_page_says_it_in_its_language_while_the_report_goes_on(service: Running) -> None:
    """Whoever has no phone with us reads on the page who found so."""
    tenant = visitor(service, "1A", "es")
    tenant.open()
    tenant.send("report", kinds="too_cold", words="huele a gas en la cocina")
    ticket = service.only_ticket()
    assert ticket["danger"]
    service.wait(seconds=1)
    end(service, ticket["id"])
    shown = tenant.open()
    assert "Los bomberos miraron y no hay peligro." in shown
    assert f"Su reporte T-{ticket['id'][2:6].upper()} sigue abierto." in shown
    undo_last(service, ticket["id"])
    assert "no hay peligro" not in tenant.open()


def test_a_danger_told_meanwhile_is_read_first(service: Running) -> None:
    """Who has not seen the newest text of danger does not end it."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    seen = heard(service, gas)
    service.text(mobile("1A"), "the smell of gas is getting stronger")
    status, words = refusal(service, gas, "fire", heard=seen)
    assert status == 409
    assert "told again" in words
    assert ticket_of(service, gas)["danger"]


def test_an_ordinary_ticket_has_no_danger_to_end(service: Running) -> None:
    """Nothing is done about it."""
    cold = service.text(mobile("3B"), "no heat, 58 in here")["ticket"]
    assert refusal(service, cold, "fire")[0] == 409


@pytest.mark.parametrize("words", [GAS, GAS_AND_COLD])
def test_a_danger_told_later_is_one_at_once(service: Running, words: str) -> None:
    """On the report that went on, or on a new one: told to leave, due now, an alert."""
    first = service.text(mobile("1A"), words)
    end(service, first["ticket"])
    service.wait(hours=2)

    again = service.text(mobile("1A"), "now I smell gas again")

    assert danger_reply(["gas"], "en") in [reply["text"] for reply in again["replies"]]
    ticket = ticket_of(service, again["ticket"])
    assert ticket["danger"]
    assert (again["complaint"] == first["complaint"]) == (words == GAS_AND_COLD)
    assert [a["message"] for a in alerts(service)] == [again["message"]]
    undo = next(a for a in acts_of(service, first["ticket"]) if "No danger" in a["what"])
    if words == GAS_AND_COLD:
        assert undo["why_not"] == "a danger was told again since"


@pytest.mark.parametrize("words", [GAS, GAS_AND_COLD])
def test_undone_it_is_a_danger_as_before(service: Running, words: str) -> None:
    """Same ticket, same report; whoever was called back is told to leave, the desk is alerted."""
    gas = service.text(mobile("1A"), words)
    was = ticket_of(service, gas["ticket"])
    kinds = service.get(f"/api/v1/complaints/{gas['complaint']}", "desk")["kinds"]
    end(service, gas["ticket"])
    service.wait(minutes=1)
    before = len(service.gateway.sent)

    after = undo_last(service, gas["ticket"])

    assert (after["id"], after["state"], after["danger"]) == (gas["ticket"], "open", True)
    assert after["complaints"] == [gas["complaint"]]
    assert after["respond_by"] == was["respond_by"]
    assert service.get(f"/api/v1/complaints/{gas['complaint']}", "desk")["kinds"] == kinds
    assert texts_since(service, before) == [(mobile("1A"), danger_reply(["gas"], "en"))]
    assert [a["ticket"] for a in alerts(service)] == [gas["ticket"]]
    assert "Stay out" in service.text(mobile("1A"), "it is cold out here")["replies"][0]["text"]
    assert [s["fault"] for s in after["suspects"]] == [s["fault"] for s in was["suspects"]]


def test_a_text_that_did_not_go_out_is_kept_back(service: Running) -> None:
    """Undone before anything was sent: nobody is told anything, so nobody is told the contrary."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    service.wait(seconds=1)
    before = len(service.gateway.sent)
    with service.services.sending():
        end(service, gas)
        undo_last(service, gas)
    assert texts_since(service, before) == []


def test_what_was_left_and_repaired_cannot_be_undone(service: Running) -> None:
    """A technician has closed what went on."""
    gas = service.text(mobile("1A"), GAS_AND_COLD)["ticket"]
    end(service, gas)
    service.close(gas)
    undo = next(a for a in acts_of(service, gas) if "No danger" in a["what"])
    assert not undo["can_undo"]
    assert "ended" in undo["why_not"]


def test_a_technician_still_looks_where_one_is_needed(service: Running) -> None:
    """No sparks, but the outlet is broken: the report stays open."""
    sparks = service.text(mobile("1A"), "sparks are coming out of the outlet")["ticket"]
    after = end(service, sparks, "technician", name="R. Moreno", still_to_do=True)
    assert (after["state"], after["danger"]) == ("open", False)


def test_the_reason_stays_at_the_desk(service: Running) -> None:
    """The log and the history, which phones keep, hold neither the reason nor the name."""
    gas = service.text(mobile("1A"), GAS)["ticket"]
    end(service, gas, "fire", name="Lt. Vance", reason="her stove was left on")
    what = acts_of(service, gas)[0]["what"]
    assert what == (
        "No danger after all, found by the fire department (Lt. Vance): her stove was left on"
    )
    history = " ".join(says(service, gas))
    assert "No danger after all, found by the fire department" in history
    assert "Vance" not in history
    assert "stove" not in history
    with service.services.db.reading() as session:
        ended = select(AuditRow.details).where(AuditRow.act == "danger ended")
        details = session.scalars(ended).one()
    noted = json.loads(details)
    assert (noted["found_by"], noted["dangers"]) == ("fire", ["gas"])
    assert "Vance" not in details
    assert "stove" not in details


def test_a_danger_whose_home_nobody_knows_can_end(service: Running) -> None:
    """A phone that is on file nowhere: the report is closed, the phone is told."""
    stranger = "+12125550177"
    gas = service.text(stranger, GAS)["ticket"]
    before = len(service.gateway.sent)
    assert end(service, gas)["state"] == "closed"
    assert [to for to, _ in texts_since(service, before)] == [stranger]
    done(service, f"acts/{acts_of(service, gas)[0]['id']}/undo")
    assert ticket_of(service, gas)["danger"]
