"""From a text to a ticket: storing, duplicates, danger, conversations, grouping."""

from __future__ import annotations

import threading

from sqlalchemy import func, select
from whole_service import (
    BUILDING,
    KeepingGateway,
    Running,
    building_document,
    mend_conversation,
    mobile,
    spoil_conversation,
    spoil_diagnosis,
)

from rules.asking.topics import topics
from service.store.tables import Alert, InboxMessage, OutboxMessage

STRANGER = "+12125550150"


def test_a_first_text_has_a_ticket_and_an_answer(service: Running) -> None:
    """Before any question is answered there is a ticket, and the tenant knows its reference."""
    answer = service.text(mobile("1A"), "No heat since last night, it is 58 in here")

    ticket = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert ticket["state"] == "open"
    assert ticket["building"] == BUILDING
    assert ticket["apartments"] == ["1A"]
    assert ticket["complaints"] == [answer["complaint"]]
    assert answer["reading"]["kinds"] == ["too_cold"]
    assert answer["reading"]["room_temp"] == {"value": 58, "unit": "F"}
    assert ticket["reference"] in " ".join(r["text"] for r in answer["replies"])
    assert 0 < sum(s["probability"] for s in ticket["suspects"]) <= 1
    assert ticket["because"]
    assert {w["message"] for w in ticket["why"]} <= {answer["message"], None}


def test_the_same_id_is_worked_on_once(service: Running, gateway: KeepingGateway) -> None:
    """The second delivery gets the first answer, marked duplicate, and sends nothing."""
    first = service.text(mobile("1A"), "no heat", "same-id")
    sent = len(gateway.sent)

    again = service.text(mobile("1A"), "no heat", "same-id")

    assert not first["duplicate"]
    assert again == first | {"duplicate": True}
    assert len(gateway.sent) == sent
    assert len(service.get("/api/v1/inbox", "desk")["messages"]) == 1
    assert len(service.open_tickets()) == 1


def test_two_equal_texts_with_different_ids_both_count(service: Running) -> None:
    """An id, not the words, makes a text the same."""
    first = service.text(mobile("1A"), "no heat")
    second = service.text(mobile("1A"), "no heat")

    assert first["message"] != second["message"]
    assert first["complaint"] == second["complaint"]


def test_a_danger_is_answered_first_and_has_its_own_ticket(service: Running) -> None:
    """The leave-now text goes out, the desk is alerted, somebody must act now."""
    service.text(mobile("1A"), "no heat, freezing")
    answer = service.text(mobile("1B"), "I smell gas in the kitchen")

    assert answer["reading"]["danger"]
    assert "911" in answer["replies"][0]["text"]
    assert answer["replies"][0]["asks"] is None
    ticket = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert ticket["danger"]
    assert ticket["apartments"] == ["1B"]
    assert ticket["respond_by"] == service.services.now().isoformat()
    assert service.open_tickets()[0]["id"] == ticket["id"]
    with service.services.db.reading() as session:
        assert "danger: gas" in session.scalars(select(Alert.what)).all()


def test_a_danger_from_an_unknown_number_is_never_held_up(service: Running) -> None:
    """Nobody is asked where they live before they are told to leave."""
    answer = service.text(STRANGER, "I smell gas!!")

    assert "911" in answer["replies"][0]["text"]
    assert service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")["danger"]


def test_a_danger_is_answered_even_when_deciding_fails(
    service: Running, gateway: KeepingGateway
) -> None:
    """With everything after it broken the leave-now text still goes out, once."""
    spoil_conversation(service, mobile("1A"))
    body = {"id": "d", "from": mobile("1A"), "to": "", "text": "I smell gas", "sent_at": None}

    answers = [
        service.call("POST", "/api/v1/texts", "gateway", json=body).status_code for _ in range(3)
    ]

    assert answers == [202, 202, 202]
    leave, person = gateway.sent
    assert leave.text.startswith("Leave now")
    assert "A person" in person.text  # set aside after the third try


def test_a_danger_is_answered_while_everything_else_waits(
    service: Running, gateway: KeepingGateway
) -> None:
    """With somebody working on another text for a long time the leave-now text goes out."""
    body = {"id": "d", "from": mobile("1A"), "to": "", "text": "I smell gas", "sent_at": None}
    holding, done = threading.Event(), threading.Event()

    def hold() -> None:
        with service.services.working():
            holding.set()
            done.wait(30)

    other = threading.Thread(target=hold)
    other.start()
    holding.wait(30)

    answer = service.call("POST", "/api/v1/texts", "gateway", json=body)

    assert answer.status_code == 202
    assert [o.text.startswith("Leave now") for o in gateway.sent] == [True]
    done.set()
    other.join()
    service.wait(minutes=1)
    assert [o.text.startswith("Leave now") for o in gateway.sent] == [True]
    assert service.open_tickets()[0]["danger"]


def test_what_cannot_be_decided_now_is_decided_later(service: Running) -> None:
    """A failure answers 202 with the text stored; when it is over the work is done."""
    spoil_conversation(service, mobile("1A"))
    body = {"id": "p", "from": mobile("1A"), "to": "", "text": "no heat", "sent_at": None}
    answer = service.call("POST", "/api/v1/texts", "gateway", json=body)
    assert answer.status_code == 202
    assert answer.json() | {"message": ""} == {"message": "", "duplicate": False, "pending": True}

    mend_conversation(service, mobile("1A"))
    service.wait(minutes=1)

    assert service.get("/api/v1/inbox", "desk")["messages"][0]["state"] == "read"
    assert len(service.open_tickets()) == 1


def test_a_text_that_breaks_three_times_is_set_aside(service: Running) -> None:
    """It stays visible and raises an alert; the next text is worked on."""
    spoil_conversation(service, mobile("1A"))
    body = {"id": "p", "from": mobile("1A"), "to": "", "text": "no heat", "sent_at": None}
    service.call("POST", "/api/v1/texts", "gateway", json=body)
    service.wait(minutes=1)
    service.wait(minutes=1)
    service.wait(minutes=1)

    other = service.text(mobile("1B"), "no heat")

    assert service.get("/api/v1/inbox", "desk")["messages"][0]["state"] == "set_aside"
    assert other["ticket"]
    with service.services.db.reading() as session:
        assert "text set aside" in session.scalars(select(Alert.what)).all()
        texts = session.scalars(
            select(OutboxMessage.text).where(OutboxMessage.to_number == mobile("1A"))
        ).all()
    assert [t for t in texts if "person" in t] == list(texts)
    assert len(texts) == 1


def test_a_failing_diagnosis_still_gives_a_ticket(service: Running) -> None:
    """On the last try the diagnosis is left out: the complaint is on a ticket all the same."""
    spoil_diagnosis(service)
    body = {"id": "p", "from": mobile("1A"), "to": "", "text": "no heat", "sent_at": None}
    service.call("POST", "/api/v1/texts", "gateway", json=body)
    assert service.open_tickets() == []
    for _ in range(5):  # two tries are left; one that a job has begun already is not waited for
        if not service.open_tickets():
            service.wait(minutes=1)

    ticket = service.only_ticket()
    assert ticket["apartments"] == ["1A"]
    assert ticket["suspects"] == []


def test_complaints_of_one_loop_come_together(service: Running) -> None:
    """Four cold homes on one pump are one ticket, with each move in the history."""
    answers = [service.text(mobile(a), "no heat, it is freezing") for a in ("1A", "1B", "2A", "2B")]

    ticket = service.only_ticket()
    assert ticket["apartments"] == ["1A", "1B", "2A", "2B"]
    assert set(ticket["complaints"]) == {a["complaint"] for a in answers}
    assert ticket["scope"] != "apartment"
    assert [e["what"] for e in ticket["history"]].count("joined") == 4


def test_a_household_is_never_on_two_open_tickets(service: Running) -> None:
    """Whatever one home reports, in whatever order, it stands on one open ticket."""
    for words in ("no heat", "the pipes bang all night", "I smell gas", "still cold"):
        service.text(mobile("1A"), words)
        open_tickets = service.open_tickets()
        assert sum("1A" in t["apartments"] for t in open_tickets) == 1


def test_a_complaint_that_is_not_about_heat_has_a_ticket(service: Running) -> None:
    """A leak is a ticket too."""
    answer = service.text(mobile("1A"), "water is dripping from the radiator")

    ticket = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    assert ticket["kinds"] == ["leak"]


def test_an_unknown_number_is_asked_where_it_lives(service: Running) -> None:
    """There is a ticket at once; the answer gives it its home."""
    first = service.text(STRANGER, "no heat in here, freezing")
    assert first["replies"][-1]["asks"]["topic"] == "place"
    unplaced = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")
    assert unplaced["building"] is None

    second = service.text(STRANGER, "9 Quarry Street apt 2B")

    assert second["complaint"] == first["complaint"]
    ticket = service.get(f"/api/v1/tickets/{second['ticket']}", "desk")
    assert ticket["building"] == BUILDING
    assert ticket["apartments"] == ["2B"]
    assert len(service.open_tickets()) == 1


def test_a_number_with_several_homes_is_asked_which(service: Running) -> None:
    """The choice puts the complaint on the right home."""
    other = "hill-2"
    document = building_document(other, "2 Hill Road")
    service.call("PUT", f"/api/v1/buildings/{other}", "owner", json=document)
    row = {"apartment": "4A", "name": "Two homes", "mobile": mobile("1A"), "language": "en"}
    row |= {"building": other, "email": "", "care": []}
    answer = service.call("PUT", f"/api/v1/buildings/{other}/households", "owner", json=[row])
    assert answer.status_code == 200, answer.text

    first = service.text(mobile("1A"), "no heat, freezing")
    choices = first["replies"][-1]["asks"]
    assert choices["topic"] == "apartment_which"
    second = service.text(mobile("1A"), "1")

    complaint = service.get(f"/api/v1/complaints/{second['complaint']}", "desk")
    assert (complaint["building"], complaint["apartment"]) == (other, "4A")
    assert len(service.open_tickets()) == 1


def test_stop_is_confirmed_once_and_then_nothing_is_sent(service: Running) -> None:
    """The complaint of somebody who wants no texts is still taken; danger still gets an answer."""
    stopped = service.text(mobile("1A"), "STOP")
    after = service.text(mobile("1A"), "no heat, freezing")
    danger = service.text(mobile("1A"), "I smell gas")

    assert len(stopped["replies"]) == 1
    assert after["replies"] == []
    assert after["ticket"]
    assert "911" in danger["replies"][0]["text"]


def test_start_brings_texts_back(service: Running) -> None:
    """After START a complaint is answered again."""
    service.text(mobile("1A"), "STOP")
    service.text(mobile("1A"), "START")

    assert service.text(mobile("1A"), "no heat, freezing")["replies"]


def test_an_answer_becomes_a_fact(service: Running) -> None:
    """What a number of a choice means is evidence with its message as the source."""
    asks = service.next_asks(service.text(mobile("1A"), "no heat, freezing")["replies"])
    assert asks is not None

    second = service.text(mobile("1A"), asks["choices"][0]["say"])

    complaint = service.get(f"/api/v1/complaints/{second['complaint']}", "desk")
    topics = {f["topic"]: f["means"] for f in complaint["facts"] if f["type"] == "answered"}
    assert topics[asks["topic"]] == asks["choices"][0]["means"]
    assert second["reading"]["intent"] == "answer"


def test_no_topic_is_asked_twice_and_at_most_five(service: Running) -> None:
    """Answering "not sure" to everything ends after five questions at most."""
    replies = service.text(mobile("3A"), "it is way too cold in here")["replies"]
    topics = []
    while (asks := service.next_asks(replies)) is not None:
        topics.append(asks["topic"])
        replies = service.text(mobile("3A"), "0")["replies"]

    assert 1 <= len(topics) <= 5
    assert len(set(topics)) == len(topics)


def test_it_works_now_ends_complaint_and_ticket(service: Running) -> None:
    """When the only household says it is fixed, the ticket is closed with that reason."""
    first = service.text(mobile("1A"), "no heat, freezing")

    service.text(mobile("1A"), "it's fixed now, heat is back, thanks")

    ticket = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")
    assert ticket["state"] == "closed"
    assert service.get(f"/api/v1/complaints/{first['complaint']}", "desk")["outcome"] == "resolved"


def test_the_inbox_is_read_page_by_page(service: Running) -> None:
    """Following `next` gives every text once, in order."""
    for n in range(5):
        service.text(mobile("1A"), "hello", f"id-{n}")
    seen: list[str] = []
    after = ""
    while True:
        page = service.get(f"/api/v1/inbox?limit=2&after={after}", "desk")
        seen += [m["id"] for m in page["messages"]]
        if page["next"] is None:
            break
        after = page["next"]

    assert seen == [f"id-{n}" for n in range(5)]


def test_a_topic_that_nobody_asks_about_is_refused(service: Running) -> None:
    """A misspelt topic is no complaint and no answer: 422 at its place, with those there are."""
    body = {"text": "no heat", "asked": "q_foo"}
    answer = service.call("POST", "/api/v1/readings", "desk", json=body)

    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "/asked"
    assert "'q_foo'" in error["detail"]
    for topic in ("q_hot", "kind", "right_now", "read_back", "place", "apartment_which"):
        assert topic in error["detail"]


def test_every_topic_that_there_is_can_be_answered(service: Running) -> None:
    """Those tenants are asked about, those of a home, and those of a superintendent."""
    for topic in topics():
        body = {"text": "1", "asked": topic}
        assert service.call("POST", "/api/v1/readings", "desk", json=body).is_success, topic
    assert {"s_gauge", "s_pump", "s_valves", "q_safety", "q_steam"} <= set(topics())


def test_a_reading_alone_stores_nothing(service: Running) -> None:
    """Trying the reader out leaves no trace."""
    body = {"text": "no heat, 58 in here", "asked": None}

    answer = service.call("POST", "/api/v1/readings", "desk", json=body)

    assert answer.json()["kinds"] == ["too_cold"]
    with service.services.db.reading() as session:
        for table in (InboxMessage, OutboxMessage):
            assert session.scalar(select(func.count()).select_from(table)) == 0
