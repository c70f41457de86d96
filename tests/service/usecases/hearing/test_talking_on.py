"""A conversation over days: late answers, nights, repairs that did not help, two doors to one home."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from whole_service import EVENING, Running, household_rows, mobile, said, topics_asked

from rules.asking.sayings import say


def _alerts(service: Running, what: str) -> int:
    return sum(a["what"] == what for a in service.get("/api/v1/alerts?state=open", "desk"))


# --- somebody who has not said what is wrong


def test_whoever_says_a_fact_but_no_trouble_is_asked_what_is_wrong(service: Running) -> None:
    """With numbered choices; the answer is what the report is about and is not asked again."""
    first = service.text(mobile("1A"), "radiator is hot")
    assert topics_asked(first["replies"]) == ["kind"]
    assert "1 too cold\n2 too hot" in said(first)
    second = service.text(mobile("1A"), "2")
    complaint = service.get(f"/api/v1/complaints/{second['complaint']}", "desk")
    assert complaint["kinds"] == ["too_hot"]
    assert {"topic": "q_hot", "means": "hot"}.items() <= complaint["facts"][0].items()
    assert "kind" not in topics_asked(second["replies"])


def test_a_greeting_becomes_a_report_with_the_answer(service: Running) -> None:
    """ "Hello" alone is no report; the number of a trouble makes it one, in words it would too."""
    hello = service.text(mobile("1A"), "hello")
    assert (hello["complaint"], topics_asked(hello["replies"])) == (None, ["kind"])
    service.text(mobile("1B"), "hola")
    numbered, spoken = service.text(mobile("1A"), "5"), service.text(mobile("1B"), "no hay calor")
    kinds = [
        service.get(f"/api/v1/complaints/{a['complaint']}", "desk")["kinds"]
        for a in (numbered, spoken)
    ]
    assert kinds == [["no_hot_water"], ["too_cold"]]


@pytest.mark.parametrize("words", ["0", "6", "not sure"])
def test_what_fits_nothing_goes_to_a_person(service: Running, words: str) -> None:
    """Not sure, or something else: a person reads it, and the report stays."""
    service.text(mobile("1A"), "radiator is hot")
    answer = service.text(mobile("1A"), words)
    assert said(answer) == say("person", "en")
    assert answer["ticket"] is not None
    assert _alerts(service, "wants a person") == 1


# --- late and early answers, nights


def test_a_late_answer_still_counts(service: Running) -> None:
    """Hours after the conversation was closed for silence "1" is the answer to what was asked."""
    first = service.text(mobile("2A"), "the pipes are making a noise")
    (topic,) = topics_asked(first["replies"])
    service.wait(hours=20)  # reminded, closed
    late = service.text(mobile("2A"), "1")
    facts = service.get(f"/api/v1/complaints/{late['complaint']}", "desk")["facts"]
    assert [f["means"] for f in facts if f.get("topic") == topic]
    assert "added this to your report" in said(late)


def test_after_a_week_a_number_stands_for_nothing(service: Running) -> None:
    """It is kept with the report and taken for no answer (common practice, no source)."""
    first = service.text(mobile("2A"), "the pipes are making a noise")
    service.wait(days=9)
    late = service.text(mobile("2A"), "1")
    facts = service.get(f"/api/v1/complaints/{first['complaint']}", "desk")["facts"]
    assert not [f for f in facts if f["type"] == "answered"]
    assert late["complaint"] == first["complaint"]


def test_whoever_is_asked_in_the_evening_is_reminded_in_the_morning(service: Running) -> None:
    """A reminder that falls due after nine goes out at eight; nothing is sent at night."""
    service.services.clock.move(EVENING + timedelta(hours=1, minutes=50))  # type: ignore[attr-defined]
    (topic,) = topics_asked(service.text(mobile("3A"), "too hot in here")["replies"])
    sent = service.wait(hours=14)
    times = [datetime.fromisoformat(row["send_at"]) - timedelta(hours=5) for row in sent]
    assert [(at.hour, at.minute) for at in times] == [(8, 0)]
    assert topics_asked(sent) == [topic]
    assert sent[0]["text"].startswith(say("remind", "en"))


def test_a_check_is_answered_early_when_it_can_be_true(service: Running) -> None:
    """Ten minutes after turning down: "still hot" says nothing yet, "cold already" does."""
    for home, words, counts in (("3A", "still hot", False), ("3B", "it is cold already", True)):
        first = service.text(mobile(home), "too hot and the radiator is burning hot")
        assert "We write again in 30 minutes" in said(first)
        service.text(mobile(home), words)
        facts = service.get(f"/api/v1/complaints/{first['complaint']}", "desk")["facts"]
        assert bool([f for f in facts if f.get("topic") == "q_down"]) is counts


def test_a_word_during_the_wait_is_answered(service: Running) -> None:
    """ "how long?" while a check runs is not met with silence."""
    service.text(mobile("3A"), "too hot and the radiator is burning hot")
    assert said(service.text(mobile("3A"), "how long does this take?"))


# --- after a repair


def test_still_cold_before_the_morning_opens_the_same_report_again(service: Running) -> None:
    """The household need not wait to be asked: same report, same ticket, not asked next morning."""
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    service.close(first["ticket"])
    again = service.text(mobile("2A"), "still cold in here")
    assert (again["complaint"], again["ticket"]) == (first["complaint"], first["ticket"])
    assert said(again).startswith("We are sorry. We opened your report again")
    assert "right_now" not in topics_asked(service.wait(hours=20))


def test_another_trouble_after_a_repair_is_another_report(service: Running) -> None:
    """A noise is not the cold that was mended."""
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    service.close(first["ticket"])
    noise = service.text(mobile("2A"), "the pipes are banging all night")
    assert noise["complaint"] != first["complaint"]


def test_whoever_says_it_is_right_is_not_asked(service: Running) -> None:
    """ "It works" in the evening answers next morning's question; a later trouble is a new one."""
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    service.close(first["ticket"])
    assert "Good to hear" in said(service.text(mobile("2A"), "its fixed, thank you"))
    assert "right_now" not in topics_asked(service.wait(hours=20))
    assert service.text(mobile("2A"), "no heat again")["complaint"] != first["complaint"]


def test_a_late_no_opens_it_again(service: Running) -> None:
    """Two days after "is it right now?" a "no" is still heard; so is a "yes"."""
    first = service.text(mobile("2A"), "no heat in the whole apartment")
    other = service.text(mobile("4A"), "my home is way too hot, boiling")
    service.close(first["ticket"])
    service.close(other["ticket"])
    assert topics_asked(service.wait(hours=20)) == ["right_now", "right_now"]
    service.wait(days=2)
    assert service.text(mobile("2A"), "no")["ticket"] == first["ticket"]
    assert "Good to hear" in said(service.text(mobile("4A"), "1"))
    states = {t["id"] for t in service.open_tickets()}
    assert states == {first["ticket"]}


# --- two phones of one home


def test_two_phones_of_a_home_are_asked_each_thing_once(service: Running) -> None:
    """What one was asked, answered or not, the other is not asked; both together five times."""
    rows = household_rows()
    second = "+12125550188"
    rows.append(rows[2] | {"name": "Somebody else", "mobile": second})
    answer = service.call("PUT", "/api/v1/buildings/quarry-9/households", "owner", json=rows)
    assert answer.status_code == 200, answer.text
    asked: list[str] = []
    replies = service.text(mobile("2A"), "its cold in here")["replies"]
    for _ in range(8):
        checks = [r for r in replies if "We write again" in r["text"]]
        if checks:
            replies = service.wait(minutes=50)
        topics = topics_asked(replies)
        if not topics:
            break
        asked.append(topics[0])
        replies = service.text(mobile("2A"), "0")["replies"]
    replies = service.text(second, "its cold in here")["replies"]
    for _ in range(8):
        if [r for r in replies if "We write again" in r["text"]]:
            replies = service.wait(minutes=50)
        topics = topics_asked(replies)
        if not topics:
            break
        asked.append(topics[0])
        replies = service.text(second, "0")["replies"]
    questions = [topic for topic in asked if topic.startswith("q_")]
    assert len(questions) == len(set(questions))
    assert len(questions) <= 5


# --- words that opt out


# CTIA Messaging Principles and 47 CFR 64.1200(a)(10) name these as opting out when they stand alone.
@pytest.mark.parametrize(
    "word", ["STOP", "end", "Cancel", "QUIT!", "unsubscribe", "revoke", "opt out"]
)
def test_an_opt_out_word_alone_ends_our_texts_not_the_report(service: Running, word: str) -> None:
    """CANCEL too, by the published list: said once, with how to get texts again; the report stays."""
    first = service.text(mobile("1A"), "no heat")
    answer = service.text(mobile("1A"), word)
    assert [r["text"] for r in answer["replies"]] == [say("stopped_open", "en")]
    assert service.get(f"/api/v1/tickets/{first['ticket']}", "desk")["state"] == "open"
    assert service.text(mobile("1A"), "still no heat")["replies"] == []


@pytest.mark.parametrize(
    "words",
    ["cancel my report please", "the noise won't stop", "heat cuts out and it will not stop"],
)
def test_the_word_inside_a_sentence_is_no_opt_out(service: Running, words: str) -> None:
    """Texts go on: a report taken back, or a trouble described."""
    service.text(mobile("1A"), "no heat")
    assert service.text(mobile("1A"), words)["replies"]


@pytest.mark.parametrize(
    ("words", "means"), [("morning", True), ("In the morning", True), ("good morning", False)]
)
def test_morning_answers_when_it_is_worse(service: Running, words: str, means: bool) -> None:
    """To "is it worse at one time of day?" the word is an answer; a greeting stays one."""
    body = {"text": words, "asked": "q_time"}
    found = service.call("POST", "/api/v1/readings", "desk", json=body).json()
    assert (found["intent"] == "answer") is means


@pytest.mark.parametrize(
    ("words", "key"),
    [("I want to kill myself", "en"), ("ya no quiero vivir, me quiero morir", "es")],
)
def test_whoever_speaks_of_hurting_themselves_gets_the_crisis_line(
    service: Running, words: str, key: str
) -> None:
    """At once, at night and after STOP too; a person is told to call. Nobody is told for a boiler."""
    service.text(mobile("1A"), "ESPAÑOL" if key == "es" else "ENGLISH")
    service.text(mobile("1A"), "STOP")
    service.services.clock.move(EVENING + timedelta(hours=6))  # type: ignore[attr-defined]
    answer = service.text(mobile("1A"), words)
    assert "988" in said(answer)
    assert answer["replies"][0]["send_at"] == service.services.now().isoformat()
    assert _alerts(service, "may hurt themselves: call") == 1
    assert "988" not in said(service.text(mobile("1B"), "the boiler died and I am dying of cold"))
