"""What is asked in passing: it has its answer, whatever else goes on, and changes nothing."""

from __future__ import annotations

import pytest
from oak_street import ASKED_HOT, at, knowing, words_of

from rules.asking.asides import asides_in, asks_of_its_own
from rules.asking.conversation import Conversation, Heard, State, step
from rules.asking.sayings import say
from rules.asking.short_words import is_of_access, names_the_right_door
from rules.data import table


@pytest.mark.parametrize(
    ("text", "key"),
    [
        # What only a technician does (the project's own promise, decided before the first line).
        ("can i bleed it myself i have a key", "hands_off"),
        ("i already opened the little screw and water came out", "hands_off"),
        ("should i take the cover off the thermostat and jiggle the wires", "hands_off"),
        ("or i could go down and hit reset on the boiler?", "hands_off"),
        ("the pilot light is out on it i can relight it", "hands_off"),
        ("how do i bleed a radiator", "hands_off"),
        ("¿puedo abrir la tapa del termostato?", "hands_off"),
        ("voy a prender el piloto de la caldera", "hands_off"),
        ("¿le puedo quitar la cubierta al termostato?", "hands_off"),
        ("heat is out, can I use the oven to warm up the kitchen?", "safety_no_oven"),
        ("no hay calefaccion, puedo prender la estufa para calentarnos", "safety_no_oven"),
        ("our CO alarm chirps once a minute, is that bad", "chirp"),
        ("el detector de humo pita cada minuto", "chirp"),
        ("ive got a space heater on an extension cord", "safety_heater"),
        ("who is this??", "who"),
        ("how did you get my number", "who"),
        ("are you a real person", "who"),
        ("¿quién es?", "who"),
        ("No heat. give me the landlords number", "no_numbers"),
        ("just the number please", "no_numbers"),
        ("me da el telefono del encargado", "no_numbers"),
        ("does it cost money to report no heat?", "cost"),
        ("will i be charged for the repair", "cost"),
        ("¿cuánto cuesta?", "cost"),
        ("tengo que pagar algo", "cost"),
        ("I'm scared the landlord will evict me if I complain", "brave"),
        ("please don't tell him it was me", "brave"),
        ("tengo miedo de que me corran", "brave"),
        ("no heat, sending you a pic of the thermostat", "picture"),
        ("can u see it?", "picture"),
        ("le mande una foto", "picture"),
        ("", "picture"),
        ("do i need to be home", "be_home"),
        ("does someone have to be here when he comes", "be_home"),
        ("what if nobody is home", "be_home"),
        ("¿tengo que estar en la casa?", "be_home"),
        ("tiene que haber alguien", "be_home"),
        ("¿y si no estoy?", "be_home"),
    ],
)
def test_what_is_asked_in_passing_has_its_answer(text: str, key: str) -> None:
    """As people put it, in two languages."""
    assert key in asides_in(text, asked=False)


@pytest.mark.parametrize(
    "text",
    [
        "the super reset the boiler and its still cold",
        "i asked the super and he reset the boiler",
        "can i open the thermostat to change the batteries",
        "should i open the window",
        "i set the thermostat to 70",
        "how much longer is this going to take",
        "is it going to be warm tonight",
        "whats my ticket number again",
        "the number on the thermostat is 61",
        "i work at an office, number 61 is what it shows",
        "please don't let him in, the dog is loose",
        "will you be here soon",
        "i have to be here all night in the cold",
        "who do i talk to about the leak",
        "quien viene y a que hora",
        "voy a prender el termostato",
        "puedo subir el termostato",
        "i pay rent for this",
        "i cant see the screen",
        "no heat and the radiator is cold",
        "hay que esperar mucho?",
        "the CO alarm is going off",
        "the smoke detector beeps and beeps",
    ],
)
def test_what_only_looks_like_it_is_none(text: str) -> None:
    """Words of others, of time, of what a household may do."""
    assert asides_in(text, asked=False) == ()


def test_every_row_says_a_sentence_that_we_have() -> None:
    """In both languages; what must not be done comes before what is only asked."""
    keys = list(table("asides"))
    assert all(say(key, "en") and say(key, "es") for key in keys)
    assert keys[:4] == ["safety_no_oven", "chirp", "safety_heater", "hands_off"]


def test_the_answer_comes_before_the_question_that_is_out() -> None:
    """Which stays out and does not count as not understood."""
    result = step(ASKED_HOT, Heard.ASIDE, knowing(asides=("cost",)))
    assert words_of(result).startswith(say("cost", "en"))
    assert result.says[-1].asks is not None
    assert result.conversation == ASKED_HOT


@pytest.mark.parametrize("event", [Heard.COMPLAINT, Heard.ANSWER, Heard.OTHER])
def test_it_is_answered_beside_whatever_the_text_is(event: Heard) -> None:
    """ "It is cold, can I bleed it?" tells a trouble and is told not to."""
    knows = knowing(asides=("hands_off",), answer="cold", next_question="q_rooms")
    assert say("hands_off", "en") in words_of(step(ASKED_HOT, event, knows))


def test_a_first_report_has_its_answer_too() -> None:
    """After who we are."""
    first = step(Conversation(), Heard.COMPLAINT, knowing(asides=("no_numbers",), opened=True))
    assert words_of(first).startswith("Heat line")
    assert say("no_numbers", "en") in words_of(first)


def test_who_we_are_is_said_with_the_building() -> None:
    """Also when nothing is asked."""
    told = step(at(State.TOLD), Heard.ASIDE, knowing(asides=("who",)))
    assert words_of(told) == f"Heat line, 12 Oak St. {say('who', 'en')}"


def test_a_person_has_the_text_and_the_warning_is_said_all_the_same() -> None:
    """Whoever would relight a boiler is not left alone with "they will get in touch"."""
    result = step(at(State.PERSON), Heard.ASIDE, knowing(asides=("hands_off",)))
    assert say("hands_off", "en") in words_of(result)
    assert result.hand_to_person


def test_that_a_person_has_it_is_said_once() -> None:
    """After that each text is noted; all go to the person."""
    first = step(at(State.PERSON), Heard.COMPLAINT, knowing())
    then = step(first.conversation, Heard.COMPLAINT, knowing())
    assert words_of(first) == say("person_noted", "en")
    assert words_of(then) == say("noted_short", "en")
    assert then.hand_to_person


@pytest.mark.parametrize(
    ("text", "own"),
    [
        ("should i take the cover off", True),
        ("jiggle the wires", False),
        ("cold", False),
        ("im sending a pic", False),
    ],
)
def test_whose_words_answer_no_question_of_ours(text: str, own: bool) -> None:
    """A picture may come with an answer in one breath."""
    assert asks_of_its_own(text) is own


# --- getting in, and another door


@pytest.mark.parametrize(
    "text",
    [
        "I have work at 8, can he come after 5",
        "I sleep during the day",
        "the key is with the lady in 2C",
        "there's a dog but he's friendly",
        "please do not come tomorrow, we have a funeral",
        "friday is fine",
        "use the side door",
        "back on sunday",
        "toque el timbre fuerte, hay un perro",
        "no vengan mañana",
        "mejor llameme por la tarde",
        "el viernes puedo",
    ],
)
def test_what_tells_of_getting_in(text: str) -> None:
    """When, how, and who else is there."""
    assert is_of_access(text)


@pytest.mark.parametrize(
    "text",
    [
        "the heat came back on monday",
        "no heat since friday",
        "it works fine at night",
        "i have a radiator in the kitchen",
        "hay frio",
        "nobody came yesterday",
        "dont come, its fixed",
        "ya no vengan",
    ],
)
def test_what_tells_nothing_of_getting_in(text: str) -> None:
    """Days of the trouble, and whoever wants nobody at all."""
    assert not is_of_access(text)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("wrong apartment its 4A not 3B", True),
        ("actually it is 4A", True),
        ("me equivoque, es el 4A", True),
        ("4A has no heat too", False),
        ("not warm at all", False),
    ],
)
def test_whether_another_door_is_meant(text: str, right: bool) -> None:
    """In so many words."""
    assert names_the_right_door(text) is right
