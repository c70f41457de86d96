"""One story from file to repair, and races, on SQLite and, where there is one, PostgreSQL."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from whole_service import EVENING, KeepingGateway, Running, fill, mobile, running, settings_for

from service.clock import ManualClock


@pytest.fixture
def anywhere(migrated_url: str, tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A filled service on either database."""
    with running(settings_for(tmp_path, migrated_url), ManualClock(EVENING), gateway) as service:
        fill(service)
        yield service


def test_from_complaint_to_repair_and_back(anywhere: Running) -> None:
    """Complaint, duplicate, odd characters, danger, finding, closing, "no", all in one life."""
    first = anywhere.text(mobile("1A"), "no heat, 58 in here \u0000 \U0001f976", "one")
    assert anywhere.text(mobile("1A"), "no heat", "one")["duplicate"]
    anywhere.text(mobile("1B"), "I smell gas")
    ticket = first["ticket"]
    base = f"/api/v1/tickets/{ticket}"
    finding = {"test": "sec_volts", "component": "xf-1", "value": 0, "unit": "V"}
    assert anywhere.call("POST", f"{base}/findings", "truck", json=finding).status_code == 200
    closing = {"fault": "transformer_dead", "component": "xf-1", "parts": [], "note": ""}
    assert anywhere.call("POST", f"{base}/close", "truck", json=closing).status_code == 200
    sent = anywhere.wait(days=1)
    assert mobile("1A") in {t["to"] for t in sent if t["asks"]}

    again = anywhere.text(mobile("1A"), "2")

    assert again["ticket"] == ticket
    assert anywhere.get(base, "desk")["state"] == "open"
    assert {m["state"] for m in anywhere.get("/api/v1/inbox", "desk")["messages"]} == {"read"}


def test_strangers_alerts_and_news(anywhere: Running, gateway: KeepingGateway) -> None:
    """A code confirms, an alert is raised again and acknowledged, news goes out, an answer is undone."""
    stranger = "+12125550150"
    report = anywhere.text(stranger, "the pipes make noise, 9 Quarry Street apt 2B")
    code = next(re.findall(r"\d{6}", o.text)[0] for o in gateway.sent if o.to == mobile("2B"))
    assert "Now we know" in anywhere.text(stranger, code)["replies"][0]["text"]
    anywhere.text(stranger, "1")
    assert anywhere.text(stranger, "back")["replies"][0]["text"].startswith("OK, we took")
    anywhere.text(mobile("1B"), "I smell gas")
    anywhere.wait(minutes=10)
    alerts = anywhere.get("/api/v1/alerts?state=open", "desk")
    assert [a["what"] for a in alerts] == ["danger: gas"] * 2
    seen = anywhere.call("POST", f"/api/v1/alerts/{alerts[0]['id']}/acknowledge", "desk")
    assert seen.status_code == 200
    news = {"id": "n", "texts": {"en": "We are on it.", "es": "Estamos en eso."}}
    path = f"/api/v1/tickets/{report['ticket']}/broadcast"
    answers = [anywhere.call("POST", path, "desk", json=news).json() for _ in range(2)]
    assert [(a["texts"], a["duplicate"]) for a in answers] == [(2, False), (2, True)]


def test_the_same_text_delivered_eight_times_at_once_is_one(
    anywhere: Running, gateway: KeepingGateway
) -> None:
    """Eight gateways retry together: one message, one set of replies, eight equal answers."""
    start = threading.Barrier(8)
    answers: list[dict[str, object]] = []

    def deliver() -> None:
        body = {"id": "same", "from": mobile("1A"), "to": "", "text": "no heat, freezing"}
        start.wait()
        answer = anywhere.call("POST", "/api/v1/texts", "gateway", json=body)
        answers.append({"status": answer.status_code, **answer.json()})

    threads = [threading.Thread(target=deliver) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [a["status"] for a in answers] == [200] * 8
    assert len({str(a["message"]) for a in answers}) == 1
    assert sorted(bool(a["duplicate"]) for a in answers) == [False] + [True] * 7
    anywhere.wait(minutes=1)
    texts = [o.text for o in gateway.sent]
    assert len(texts) == len(set(texts)) > 0
    assert len(anywhere.open_tickets()) == 1


def test_texts_at_the_same_time_do_not_lose_each_other(anywhere: Running) -> None:
    """Four homes write at once; each complaint is on exactly one ticket."""
    homes = ("1A", "1B", "3A", "4B")
    start = threading.Barrier(len(homes))
    statuses: list[int] = []

    def write(home: str) -> None:
        body = {"id": home, "from": mobile(home), "to": "", "text": "no heat, freezing"}
        start.wait()
        statuses.append(anywhere.call("POST", "/api/v1/texts", "gateway", json=body).status_code)

    threads = [threading.Thread(target=write, args=(home,)) for home in homes]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert set(statuses) <= {200, 202}  # on a slow machine the last ones are decided later
    anywhere.wait(minutes=1)
    tickets = anywhere.open_tickets()
    assert sorted(a for t in tickets for a in t["apartments"]) == sorted(homes)
