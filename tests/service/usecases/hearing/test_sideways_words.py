"""Texts beside the point: "make it stop", one for somebody else, the trouble in place of an address."""

from __future__ import annotations

import pytest
from whole_service import Running, mobile, said, topics_asked

from rules.asking.conversation import Conversation, State
from rules.asking.sayings import say
from rules.model import Intent, TopicId
from service.usecases.hearing.read_text import read_in_talk

STRANGER = "+12125550177"


@pytest.mark.parametrize(
    "words",
    [
        "make it stop",
        "stop it",
        "Stop it please!",
        "que pare ya",
        "make it stop banging",
        "stop the banging",
    ],
)
def test_make_it_stop_is_about_the_noise(service: Running, words: str) -> None:
    """With a noise open it stops no texts; the word that does is told."""
    service.text(mobile("2A"), "the pipes are making a noise")
    heard = service.text(mobile("2A"), words)
    assert say("plea", "en") in said(heard) or say("plea", "es") in said(heard)
    assert service.text(mobile("2A"), "it is still loud")["replies"]


@pytest.mark.parametrize(
    "words", ["stop", "please stop", "stop texting me", "STOP.", "stop these messages"]
)
def test_stop_is_about_texts_whatever_is_open(service: Running, words: str) -> None:
    """The message itself, or what names our texts, opts out although a noise is open."""
    service.text(mobile("2A"), "the pipes are making a noise")
    service.text(mobile("2A"), words)
    assert service.text(mobile("2A"), "it is still loud")["replies"] == []


def test_stop_it_without_anything_that_can_stop(service: Running) -> None:
    """Where it is just cold, "stop it" can only mean our texts."""
    service.text(mobile("2A"), "it is cold in here")
    service.text(mobile("2A"), "stop it")
    assert service.text(mobile("2A"), "still cold")["replies"] == []


@pytest.mark.parametrize("words", ["sorry wrong number", "numero equivocado"])
def test_a_text_for_somebody_else_is_no_trouble(service: Running, words: str) -> None:
    """No report, no question."""
    answer = service.text(mobile("2A"), words)
    assert answer["complaint"] is None
    assert topics_asked(answer["replies"]) == []


def test_more_of_the_trouble_is_no_wrong_address(service: Running) -> None:
    """Asked where they live, a stranger tells more: noted, asked again, never "we could not find it"."""
    assert topics_asked(service.text(STRANGER, "its so hot in here")["replies"]) == ["place"]
    more = service.text(STRANGER, "its really hot please")
    assert (topics_asked(more["replies"]), say("noted_short", "en") in said(more)) == (
        ["place"],
        True,
    )
    placed = service.text(STRANGER, "9 quarry street, 3B")
    assert "9 Quarry Street" in said(placed)


@pytest.mark.parametrize(
    "words", ["the thermostat is acting weird", "smells like burning dust every day"]
)
def test_something_vague_is_asked_about_once(service: Running, words: str) -> None:
    """A report without a trouble: the safe advice, and what they notice, in numbered choices."""
    answer = service.text(mobile("2A"), words)
    assert topics_asked(answer["replies"]) == ["kind"]
    assert say("safety_gas", "en") in said(answer)
    assert "What do you notice" in said(answer)
    cold = service.text(mobile("2A"), "1")
    assert service.get(f"/api/v1/complaints/{cold['complaint']}", "desk")["kinds"] == [
        "other",
        "too_cold",
    ]


def test_a_blank_screen_says_it_all(service: Running) -> None:
    """Nothing is asked of whoever says what is wrong, though it is no kind of its own."""
    answer = service.text(mobile("2A"), "my thermostat screen is blank")
    assert topics_asked(answer["replies"]) == []


def test_too_hot_is_asked_what_it_is_set_to(service: Running) -> None:
    """80 may be a wish: the setting tells it from a fault."""
    assert topics_asked(
        service.text(mobile("2A"), "it is 80 in the whole apartment")["replies"]
    ) == ["q_set"]
    told = service.text(mobile("3B"), "it is 80 in here and I have it on 68")
    assert topics_asked(told["replies"]) != ["q_set"]


def test_after_silence_a_report_goes_on_without_a_greeting(service: Running) -> None:
    """Somebody who answers next day in other words is not greeted as if new."""
    first = service.text(mobile("2A"), "its cold in here")
    service.wait(hours=14)
    later = service.text(mobile("2A"), "still freezing, 58 in here")
    assert later["complaint"] == first["complaint"]
    assert not said(later).startswith("Heat line")
    assert said(later).startswith("Thank you. We added this to your report")


def test_a_new_number_is_news_not_a_misunderstanding(service: Running) -> None:
    """ "57", then "58": noted both times, with the question that is out; nobody calls a person."""
    service.text(mobile("2A"), "its cold in here")
    for number in ("57", "58"):
        assert say("noted_short", "en") in said(service.text(mobile("2A"), number))


def test_the_same_text_twice_leaves_its_question(service: Running) -> None:
    """Whoever sends "no heat" again is asked the same thing in other words, not something else."""
    topic = topics_asked(service.text(mobile("2A"), "no heat")["replies"])
    assert topics_asked(service.text(mobile("2A"), "no heat")["replies"]) == topic


@pytest.mark.parametrize("words", ["it works now", "ya funciona, gracias"])
def test_works_now_is_more_than_an_answer(words: str) -> None:
    """Though "works" answers what the screen shows, the trouble is over."""
    asked = Conversation(state=State.ASKING, current=TopicId("q_screen"))
    assert read_in_talk(words, asked).intent is Intent.RESOLVED
    for plain in ("works", "funciona"):
        answer = read_in_talk(plain, asked).answer
        assert answer is not None
        assert answer.means == "normal"


def test_a_picture_alone_is_told_that_nobody_sees_it(service: Running) -> None:
    """With the question that is out, or what is wrong; it is no misunderstanding."""
    assert topics_asked(service.text(mobile("3A"), "")["replies"]) == ["kind"]
    topic = topics_asked(service.text(mobile("2A"), "its cold in here")["replies"])
    for _ in range(3):
        answer = service.text(mobile("2A"), " ")
        assert say("picture", "en") in said(answer)
        assert topics_asked(answer["replies"]) == topic


@pytest.mark.parametrize(
    ("first", "then", "key"),
    [
        (
            "water is leaking under the radiator",
            "its near the outlet now",
            "danger_water_electrics",
        ),
        ("no heat in here", "yes i smell it", "danger_gas"),
    ],
)
def test_danger_in_few_words_about_what_was_reported(
    service: Running, first: str, then: str, key: str
) -> None:
    """The leave-now text at once, an alert, and the report stays open."""
    service.text(mobile("2A"), first)
    answer = service.text(mobile("2A"), then)
    assert said(answer) == say(key, "en")
    told = [a["what"] for a in service.get("/api/v1/alerts?state=open", "desk")]
    assert any(what.startswith("danger") for what in told)
    complaint = service.get(f"/api/v1/complaints/{answer['complaint']}", "desk")
    assert complaint["danger"]
    assert say("danger_noted", "en") in said(service.text(mobile("2A"), "ok"))


@pytest.mark.parametrize(
    ("first", "words"),
    [("no heat in here", "no smell no alarm"), ("gotea el radiador", "no hay enchufes cerca")],
)
def test_no_danger_is_no_answer_to_the_question(service: Running, first: str, words: str) -> None:
    """Noted, and the question is put again; nothing is learned from that "no"."""
    told = service.text(mobile("2A"), first)
    facts = f"/api/v1/complaints/{told['complaint']}"
    before = [f for f in service.get(facts, "desk")["facts"] if f["type"] == "answered"]
    answer = service.text(mobile("2A"), words)
    assert topics_asked(answer["replies"]) == topics_asked(told["replies"])
    after = [f for f in service.get(facts, "desk")["facts"] if f["type"] == "answered"]
    assert after == before  # "gotea el radiador" has said where it drips
