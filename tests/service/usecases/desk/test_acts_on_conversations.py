"""Taking over a conversation, giving it back, writing to a household; the conversation as shown."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from at_the_desk import acts_of, done, refused, says, undo_last
from whole_service import EVENING, KeepingGateway, Running, mobile

from service.usecases.rows.act_views import ConversationView
from service.usecases.rows.alerts import open_alerts
from service.usecases.sending.outgoing import Draft, Letter, write_outbox
from service.usecases.showing.show_conversation import show_conversation

COLD = "no heat in here"


@pytest.fixture
def report(service: Running) -> dict[str, Any]:
    """A household that has written, and was asked something."""
    answer = service.text(mobile("1A"), COLD)
    assert shown(service, answer["complaint"]).waiting_for is not None
    return answer


def shown(service: Running, complaint: str) -> ConversationView:
    """The conversation as pages show it."""
    with service.services.db.reading() as session:
        return show_conversation(session, complaint)


def sent_to(gateway: KeepingGateway, number: str) -> list[str]:
    """What a phone was sent."""
    return [o.text for o in gateway.sent if o.to == number]


def test_a_conversation_taken_over_asks_nothing(
    service: Running, gateway: KeepingGateway, report: dict[str, Any]
) -> None:
    """No question, no reminder, whatever the household writes; it is read, and the desk is told."""
    complaint, ticket = report["complaint"], report["ticket"]
    done(service, f"complaints/{complaint}/take-over")
    service.wait(minutes=1)
    before = len(sent_to(gateway, mobile("1A")))

    assert service.text(mobile("1A"), "the bedroom is 61 and I have a baby")["replies"] == []
    assert service.text(mobile("1A"), "it works now")["replies"] == []
    service.wait(hours=30)

    assert len(sent_to(gateway, mobile("1A"))) == before
    found = service.get(f"/api/v1/complaints/{complaint}", "desk")
    assert [found["state"], found["care"]] == ["open", ["infant"]]
    assert any(f["type"] == "room_read" and f["room_f"] == 61 for f in found["facts"])
    alerts = service.get("/api/v1/alerts?state=open", "desk")
    assert [(a["what"], a["ticket"]) for a in alerts] == [("wrote to a person", ticket)]
    view = shown(service, complaint)
    assert [view.taken_over_by, view.state, view.waiting_for] == ["Desk program", "person", None]
    assert "has taken over" in refused(service, f"complaints/{complaint}/take-over")


def test_what_must_be_answered_is_answered_all_the_same(
    service: Running, report: dict[str, Any]
) -> None:
    """Danger is told to leave at once, STOP is confirmed, HELP is answered."""
    done(service, f"complaints/{report['complaint']}/take-over")

    assert len(service.text(mobile("1A"), "HELP")["replies"]) == 1
    danger = service.text(mobile("1A"), "I smell gas")
    assert ["911" in r["text"] for r in danger["replies"]] == [True]
    assert service.text(mobile("1A"), "yes we are outside")["replies"] == []
    assert len(service.text(mobile("1A"), "STOP")["replies"]) == 1


def test_handed_back_the_machine_goes_on(
    service: Running, gateway: KeepingGateway, report: dict[str, Any]
) -> None:
    """It asks what is still worth asking, never again what it had asked, and takes the answer."""
    complaint = report["complaint"]
    asked = shown(service, complaint).waiting_for
    done(service, f"complaints/{complaint}/take-over")
    done(service, f"complaints/{complaint}/hand-back")
    service.wait(minutes=1)

    view = shown(service, complaint)
    assert view.taken_over_by is None
    assert view.waiting_for not in {None, asked}
    assert view.waiting_until is not None
    assert view.lines[-1].speaker == "machine"
    assert view.lines[-1].text == sent_to(gateway, mobile("1A"))[-1]
    assert service.text(mobile("1A"), "1")["replies"]
    assert "nobody has taken over" in refused(service, f"complaints/{complaint}/hand-back")


def test_undoing_a_take_over_puts_the_question_back(
    service: Running, gateway: KeepingGateway, report: dict[str, Any]
) -> None:
    """The conversation stands where it stood, with its timers: the check is asked about in time."""
    before = shown(service, report["complaint"])
    done(service, f"complaints/{report['complaint']}/take-over")

    undo_last(service, report["ticket"])

    after = shown(service, report["complaint"])
    assert [after.state, after.waiting_for, after.waiting_until] == [
        before.state,
        before.waiting_for,
        before.waiting_until,
    ]
    count = len(sent_to(gateway, mobile("1A")))
    service.move(before.waiting_until or EVENING)
    assert len(sent_to(gateway, mobile("1A"))) > count


def test_a_text_that_waits_for_the_morning_is_not_sent(
    service: Running, gateway: KeepingGateway
) -> None:
    """What was to go out after the night does not, once taken over; undone, it does."""
    service.move(EVENING + timedelta(hours=1, minutes=30))  # half past eight there
    report = service.text(mobile("2A"), "the pipes make noise")
    service.wait(hours=1.5)
    letter = Letter(mobile("2A"), "America/New_York", complaint_id=report["complaint"])
    with service.services.db.transaction() as session:
        now, sms = service.services.now(), service.services.sms
        write_outbox(session, now, sms, letter, (Draft("We write again tomorrow."),))
    waiting = [line for line in shown(service, report["complaint"]).lines if line.waits]
    assert len(waiting) == 1
    done(service, f"complaints/{report['complaint']}/take-over")
    assert not [line for line in shown(service, report["complaint"]).lines if line.waits]

    undo_last(service, report["ticket"])

    assert [line for line in shown(service, report["complaint"]).lines if line.waits] == waiting
    done(service, f"complaints/{report['complaint']}/take-over")
    before = len(sent_to(gateway, mobile("2A")))
    service.wait(hours=24)
    assert len(sent_to(gateway, mobile("2A"))) == before


def test_handed_back_without_a_home_the_machine_asks_for_it(service: Running) -> None:
    """A number that nobody knows is asked again where it lives."""
    stranger = service.text("+12125550152", "no heat")
    done(service, f"complaints/{stranger['complaint']}/take-over")
    assert service.text("+12125550152", "hello?")["replies"] == []

    done(service, f"complaints/{stranger['complaint']}/hand-back")

    assert shown(service, stranger["complaint"]).waiting_for == "place"
    placed = service.text("+12125550152", "9 Quarry Street apt 3B")
    assert service.get(f"/api/v1/complaints/{placed['complaint']}", "desk")["apartment"] == "3B"


def test_a_person_writes_to_one_household(
    service: Running, gateway: KeepingGateway, report: dict[str, Any]
) -> None:
    """The text goes out as typed, by day, and stands in the conversation under its writer's name."""
    complaint, ticket = report["complaint"], report["ticket"]
    done(service, f"complaints/{complaint}/write", text=" We come at 8.\nPlease  let us in. ")
    service.wait(minutes=1)
    assert sent_to(gateway, mobile("1A"))[-1] == "We come at 8. Please let us in."
    line = shown(service, complaint).lines[-1]
    assert [line.speaker, line.name, line.waits] == ["person", "Desk program", False]
    assert "Desk program: Text to 1A" in says(service, ticket)
    assert "on its way" in refused(service, f"acts/{acts_of(service, ticket)[0]['id']}/undo")

    service.move(EVENING + timedelta(hours=4))  # 11 pm there
    done(service, f"complaints/{complaint}/write", text="See you tomorrow.")
    waiting = shown(service, complaint).lines[-1]
    assert [waiting.waits, waiting.at] == [True, EVENING + timedelta(hours=13)]
    undo_last(service, ticket)
    service.wait(hours=12)
    assert "See you tomorrow." not in sent_to(gateway, mobile("1A"))


def test_whom_nobody_can_write_to_is_said(service: Running, report: dict[str, Any]) -> None:
    """No text goes to a household that wants none, nor one that is too long or empty."""
    path = f"complaints/{report['complaint']}/write"
    for words in ("", " \n ", "x" * 500):
        answer = service.call("POST", f"/api/v1/{path}", "desk", json={"text": words})
        assert answer.status_code == 422
    assert shown(service, report["complaint"]).cannot_write == ""
    service.text(mobile("1A"), "STOP")

    assert "wants no texts" in shown(service, report["complaint"]).cannot_write
    assert "wants no texts" in refused(service, path, text="hello")


def test_news_to_all_affected_is_an_act(service: Running, report: dict[str, Any]) -> None:
    """It is noted once for each id, stands among the acts, and cannot be taken back."""
    news = {"id": "n", "texts": {"en": "We are on it.", "es": "Estamos en eso."}}
    path = f"tickets/{report['ticket']}/broadcast"
    assert [done(service, path, **news)["duplicate"] for _ in range(2)] == [False, True]

    (told,) = acts_of(service, report["ticket"])
    assert [told["what"], told["can_undo"]] == ["News sent to 1 phone", False]


def test_an_alert_names_its_home_and_building(service: Running, report: dict[str, Any]) -> None:
    """Whoever does not answer is named by home and building although no text raised the alert."""
    service.text(mobile("1A"), "61 degrees")
    service.wait(hours=20)

    alerts = service.get("/api/v1/alerts?state=open", "desk")

    assert [(a["what"], a["ticket"]) for a in alerts] == [("does not answer", report["ticket"])]
    with service.services.db.reading() as session:
        (line,) = open_alerts(session)
    assert [line.place, line.ticket] == ["1A, 9 Quarry Street", report["ticket"]]
