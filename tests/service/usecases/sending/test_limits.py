"""How much is too much: bursts, unknown numbers, texts of our own accord, the limit of the hour."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.clock import ManualClock
from service.store.tables import Alert, OutboxMessage
from service.usecases.sending.outgoing import Draft, Letter, write_outbox
from service.usecases.sending.send_outbox import send_outbox

STRANGER = "+12125550150"
NOON = datetime(2026, 1, 9, 17, 0, tzinfo=UTC)
MOST = 10


@pytest.fixture
def scarce(tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A service that may send ten texts an hour."""
    settings = settings_for(tmp_path).model_copy(update={"texts_per_hour": MOST})
    with running(settings, ManualClock(EVENING), gateway) as service:
        fill(service)
        yield service


def _alerts(service: Running) -> list[str]:
    with service.services.db.reading() as session:
        return list(session.scalars(select(Alert.what).order_by(Alert.id)))


def _write(service: Running, to: str, count: int, *, urgent: bool = False) -> list[datetime]:
    """Texts of our own accord; when they are to go out."""
    drafts = tuple(Draft(f"news {n}", urgent=urgent) for n in range(count))
    with service.services.db.transaction() as session:
        now, sms = service.services.now(), service.services.sms
        letter = Letter(to, "America/New_York")
        return [row.send_at for row in write_outbox(session, now, sms, letter, drafts)]


def test_a_burst_is_one_conversation(service: Running) -> None:
    """Of 40 texts within the hour all are kept on one report, 30 are answered, the desk is told once."""
    answers = [service.text(mobile("3A"), f"no heat, {n}") for n in range(40)]

    assert len({a["complaint"] for a in answers}) == 1
    assert all(a["replies"] for a in answers[:3])
    assert all(a["replies"] == [] for a in answers[30:])
    assert _alerts(service).count("many texts from one number") == 1
    service.wait(hours=1, minutes=1)
    assert service.text(mobile("3A"), "status")["replies"]


def test_danger_is_answered_and_stop_works_in_a_burst(service: Running) -> None:
    """However many texts came before, danger gets its answer, and STOP is confirmed."""
    for n in range(35):
        service.text(mobile("3A"), f"hello {n}")

    assert service.text(mobile("3A"), "hello")["replies"] == []
    danger = service.text(mobile("3A"), "I smell gas")
    assert danger["replies"][0]["text"].startswith("Leave now")
    assert len(service.text(mobile("3A"), "STOP")["replies"]) == 1


def test_a_stranger_gets_one_answer_a_day_after_the_exchange(service: Running) -> None:
    """Asked what is wrong, once more in other words, handed to a person, one more answer; then a day
    of silence.

    The answer of the next day asks again what is wrong, and is heard out.
    """
    replies = [len(service.text(STRANGER, "hello there")["replies"]) for _ in range(6)]
    assert replies == [1, 1, 1, 1, 0, 0]

    service.wait(hours=23)
    assert service.text(STRANGER, "hello there")["replies"] == []
    service.wait(hours=2)
    replies = [len(service.text(STRANGER, "hello there")["replies"]) for _ in range(4)]
    assert replies == [1, 1, 1, 0]


def test_a_silent_stranger_is_heard(service: Running) -> None:
    """Without an answer the report is taken all the same, and danger is answered."""
    for _ in range(5):
        service.text(STRANGER, "hello there")

    report = service.text(STRANGER, "no heat, freezing, 9 Quarry Street apt 2B")
    assert report["replies"] == []
    assert service.get(f"/api/v1/tickets/{report['ticket']}", "desk")["apartments"] == ["2B"]
    assert "911" in service.text(STRANGER, "I smell gas")["replies"][0]["text"]


def test_from_abroad_nobody_unknown_is_answered(service: Running) -> None:
    """A foreign number that is on no file costs us nothing; its report and its danger count."""
    report = service.text("+525555550100", "no heat, freezing, 9 Quarry Street apt 2B")
    assert report["replies"] == []
    assert service.get(f"/api/v1/tickets/{report['ticket']}", "desk")["apartments"] == ["2B"]
    assert "911" in service.text("+525555550100", "I smell gas")["replies"][0]["text"]


def test_a_stranger_in_an_exchange_is_answered(service: Running) -> None:
    """As long as we ask, every text of an unknown number is answered."""
    replies = service.text(STRANGER, "the heat makes a noise")["replies"]
    assert replies[-1]["asks"]["topic"] == "place"
    replies = service.text(STRANGER, "9 Quarry Street apt 2B")["replies"]
    topics = []
    while replies[-1]["asks"] is not None:
        topics.append(replies[-1]["asks"]["topic"])
        replies = service.text(STRANGER, "1")["replies"]
        assert replies

    assert len(topics) >= 2
    assert topics[-1] == "read_back"
    assert "Your report is T-" in replies[-1]["text"]


def test_six_texts_of_our_own_accord_take_ten_minutes(service: Running) -> None:
    """Five at once, the sixth ten minutes later; urgent ones at once and uncounted."""
    service.services.clock.move(NOON + timedelta(days=1))  # type: ignore[attr-defined]
    noon = service.services.now()

    assert _write(service, mobile("3A"), 3, urgent=True) == [noon] * 3
    assert _write(service, mobile("3A"), 6) == [noon] * 5 + [noon + timedelta(minutes=10)]
    assert _write(service, mobile("3B"), 1) == [noon]
    assert _write(service, mobile("3A"), 1, urgent=True) == [noon]


def test_the_desk_is_told_at_eighty_per_cent_and_at_the_end(
    scarce: Running, gateway: KeepingGateway
) -> None:
    """At eight of ten texts an alert; after ten the rest waits, and goes out in the next hour."""
    for n in range(4):
        _write(scarce, mobile(f"{n + 1}A"), 2)
    send_outbox(scarce.services, scarce.services.now())
    assert len(gateway.sent) == 8
    assert _alerts(scarce) == []

    _write(scarce, mobile("1B"), 4)
    send_outbox(scarce.services, scarce.services.now())
    assert len(gateway.sent) == MOST
    assert _alerts(scarce) == ["80 % of the texts of the hour are used"]

    scarce.wait(minutes=30)
    assert len(gateway.sent) == MOST
    assert "texts are held back: the limit of the hour is reached" in _alerts(scarce)
    scarce.wait(minutes=40)
    assert [o.text for o in gateway.sent[MOST:]] == ["news 2", "news 3"]


def test_the_limit_of_the_hour_never_holds_safety_back(
    scarce: Running, gateway: KeepingGateway
) -> None:
    """With the hour used up and many texts waiting, the leave-now text goes out at once."""
    for floor in "1234":
        for line in "AB":
            _write(scarce, mobile(floor + line), 5)
    send_outbox(scarce.services, scarce.services.now())
    assert len(gateway.sent) == MOST

    scarce.text(mobile("1A"), "I smell gas")
    send_outbox(scarce.services, scarce.services.now())

    assert gateway.sent[-1].text.startswith("Leave now")


def test_safety_goes_first_and_waits_for_no_earlier_text(
    service: Running, gateway: KeepingGateway
) -> None:
    """Behind hundreds of texts that cannot be delivered, the leave-now text is sent next."""
    gateway.failures_left = 10_000
    for floor in "1234":
        for _ in range(60):
            _write(service, mobile(f"{floor}A"), 1)
    with service.services.db.transaction() as session:
        for row in session.scalars(select(OutboxMessage)):
            row.send_at = row.next_try_at = service.services.now()
    send_outbox(service.services, service.services.now())
    gateway.failures_left = 0

    service.text(mobile("1A"), "I smell gas")
    send_outbox(service.services, service.services.now())

    assert gateway.sent[0].text.startswith("Leave now")


def test_a_text_that_is_late_does_not_wake_anybody(
    service: Running, gateway: KeepingGateway
) -> None:
    """What could not be delivered by day waits for the next morning, unless it is urgent."""
    gateway.failures_left = 10_000
    service.text(mobile("3A"), "hello")
    _write(service, mobile("3B"), 1, urgent=True)
    late = EVENING + timedelta(hours=3)  # ten in the evening
    service.services.clock.move(late)  # type: ignore[attr-defined]
    gateway.failures_left = 0

    send_outbox(service.services, late)
    assert [o.to for o in gateway.sent] == [mobile("3B")]
    service.move(EVENING + timedelta(hours=13, minutes=1))

    assert [o.to for o in gateway.sent] == [mobile("3B"), mobile("3A")]
