"""Taking answers back, reading back, other languages, and silence, through the whole service."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from whole_service import Running, mobile

from service.store.tables import Alert

SENDER = mobile("3A")


def _until(service: Running, replies: list[dict[str, Any]], topic: str) -> list[str]:
    """Answer with the first choice until a topic is asked; the topics asked before it."""
    topics: list[str] = []
    while (asks := service.next_asks(replies)) is not None and asks["topic"] != topic:
        topics.append(asks["topic"])
        replies = service.text(SENDER, "1" if len(asks["choices"]) > 1 else "60")["replies"]
        assert len(topics) < 7
    assert asks is not None
    return topics


def _last_texts(service: Running, complaint: str, count: int) -> list[str]:
    found = service.get(f"/api/v1/complaints/{complaint}", "desk")["messages"]
    return [m["text"] for m in found if m["direction"] == "out"][-count:]


def _answers(service: Running, complaint: str) -> dict[str, str]:
    facts = service.get(f"/api/v1/complaints/{complaint}", "desk")["facts"]
    return {f["topic"]: f["means"] for f in facts if f["type"] == "answered" and f["counts"]}


def test_back_withdraws_the_answer_and_asks_again(service: Running) -> None:
    """After BACK the fact counts no more, the same question is out, and a new answer counts."""
    first = service.text(SENDER, "too cold in here")
    asks = service.next_asks(first["replies"])
    assert asks is not None
    topic, choices = asks["topic"], asks["choices"]
    service.text(SENDER, choices[0]["say"])
    assert _answers(service, first["complaint"])[topic] == choices[0]["means"]

    back = service.text(SENDER, "Atrás")

    assert topic not in _answers(service, first["complaint"])
    assert back["replies"][-1]["asks"]["topic"] == topic
    service.text(SENDER, choices[1]["say"])
    assert _answers(service, first["complaint"])[topic] == choices[1]["means"]


def test_a_temperature_is_taken_back_too(service: Running) -> None:
    """A number that was an answer is no reading of the room any more."""
    first = service.text(SENDER, "too cold in here")
    _until(service, first["replies"], "q_read")
    service.text(SENDER, "45")
    path = f"/api/v1/complaints/{first['complaint']}"
    rooms = [f for f in service.get(path, "desk")["facts"] if f["type"] == "room_read"]
    assert [f["counts"] for f in rooms if f["room_f"] == 45.0] == [True]

    service.text(SENDER, "back")

    rooms = [f for f in service.get(path, "desk")["facts"] if f["type"] == "room_read"]
    assert [f["counts"] for f in rooms if f["room_f"] == 45.0] == [False]


def test_what_we_have_is_read_back_and_agreed(service: Running) -> None:
    """Before the end one text says what we have; "1" brings the report and the time."""
    first = service.text(SENDER, "noise every time the heat comes on")
    topics = _until(service, first["replies"], "read_back")
    assert 1 <= len(topics) <= 4

    (asked,) = _last_texts(service, first["complaint"], 1)
    told = service.text(SENDER, "1")["replies"]

    assert asked.startswith("We have: noise, ")
    assert "when heat starts" in asked
    assert "Your report is T-" in told[-1]["text"]
    assert told[-1]["asks"] is None


def test_after_five_questions_it_is_said_and_not_asked(service: Running) -> None:
    """A sixth question is never asked: what we have is told with the rest."""
    first = service.text(SENDER, "no heat in the whole apartment since this morning")
    replies, topics = first["replies"], 0
    while service.next_asks(replies) is not None:
        topics += 1
        replies = service.text(SENDER, "0")["replies"]  # who knows least is asked most

    assert topics == 5
    assert replies[0]["text"].startswith("We have: too cold, whole home,")


def test_the_language_changes_in_the_middle(service: Running) -> None:
    """The question that is out comes again in Spanish and its answer counts; no topic twice."""
    first = service.text(SENDER, "too cold in here")
    asks = service.next_asks(first["replies"])
    assert asks is not None

    spanish = service.text(SENDER, "español")

    again = spanish["replies"][-1]
    assert again["asks"] == asks
    assert "0 no sé" in again["text"]
    after = service.text(SENDER, asks["choices"][0]["say"])
    assert _answers(service, first["complaint"])[asks["topic"]] == asks["choices"][0]["means"]
    following = service.next_asks(after["replies"])
    assert following is None or following["topic"] != asks["topic"]
    english = service.text(SENDER, "english please")
    assert "English" in english["replies"][0]["text"]


def test_one_reminder_then_a_person_then_silence(service: Running) -> None:
    """A question is put once more after 45 minutes; then the desk is told and nothing is sent."""
    first = service.text(SENDER, "the heat makes a noise")
    assert first["replies"][-1]["asks"] is not None

    reminder = service.wait(minutes=45)
    later = service.wait(hours=30)

    assert [t["asks"]["topic"] for t in reminder] == [first["replies"][-1]["asks"]["topic"]]
    assert later == []
    with service.services.db.reading() as session:
        alerts = session.scalars(select(Alert.what)).all()
    assert alerts == ["does not answer"]
    ticket = service.get(f"/api/v1/tickets/{first['ticket']}", "desk")
    assert ticket["state"] == "open"
    assert "does not answer" in " ".join(e["says"] for e in ticket["history"])
