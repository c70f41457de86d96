"""Which home a phone means that may speak for several."""

from __future__ import annotations

from dataclasses import replace

from oak_street import HOME, OTHER_HOME, knowing

from rules.asking.conversation import Conversation, Heard, Situation, State, step
from rules.asking.wording import fits_one_text


def test_several_homes_are_offered_by_number() -> None:
    """One number, two homes: numbered, then the chosen one."""
    knows = knowing(homes=(HOME, OTHER_HOME), next_question="q_hot")
    which = step(Conversation(), Heard.COMPLAINT, knows)
    assert which.conversation.state is State.WHICH
    assert which.says[-1].text.endswith("Which home is it?\n1 3B\n2 1A\n0 other home")
    chosen = step(which.conversation, Heard.ANSWER, replace(knows, answer="2"))
    assert chosen.conversation.home == OTHER_HOME
    by_name = step(which.conversation, Heard.ANSWER, replace(knows, answer="3b"))
    assert by_name.conversation.home == HOME
    neither = step(which.conversation, Heard.ANSWER, replace(knows, answer="unknown"))
    assert neither.conversation.state is State.PLACE
    wrong = step(which.conversation, Heard.ANSWER, replace(knows, answer="7"))
    assert wrong.conversation.state is State.WHICH
    named = step(which.conversation, Heard.COMPLAINT, knowing(homes=(OTHER_HOME,)))
    assert named.conversation.home == OTHER_HOME


def which(homes: tuple[tuple[str, str], ...], names: dict[str, str]) -> list[str]:
    """The choices that somebody with these homes is offered, as one text."""
    knows = Situation(homes=homes, building_names=names)
    asked = step(Conversation(), Heard.COMPLAINT, knows).says[-1]
    assert fits_one_text(asked.text)
    assert asked.asks is not None
    lines = asked.text.split("\n")[1:]
    assert [line.split(" ")[0] for line in lines] == [say for say, _ in asked.asks.choices]
    return [line.partition(" ")[2] for line in lines[:-1]]


TWO_ELMS = (("elm-12", "1A"), ("elm-12", "1B"), ("elm-21", "3C"))


def test_homes_of_several_buildings_are_called_by_what_people_call_them() -> None:
    """No tenant knows the ids of files; in one building the door says it all."""
    names = {"elm-12": "12 Elm Street", "elm-21": "21 Elm Street"}
    assert which(TWO_ELMS, names) == ["12 Elm Street 1A", "12 Elm Street 1B", "21 Elm Street 3C"]
    assert which(TWO_ELMS[:2], names) == ["1A", "1B"]


def test_buildings_of_one_name_are_told_apart() -> None:
    """By their ids, and only they; capitals and spaces do not make another name."""
    names = {"elm-12": "Elm Court", "elm-21": "elm  court", "oak-1": "Oak Court"}
    homes = (("elm-12", "1A"), ("elm-21", "1A"), ("oak-1", "1A"))
    assert which(homes, names) == [
        "Elm Court (elm-12) 1A",
        "elm court (elm-21) 1A",
        "Oak Court 1A",
    ]


def test_names_that_one_text_does_not_hold_are_cut_short_and_then_are_ids() -> None:
    """Each of the homes can still be chosen; shortened names that are then alike get their id."""
    long = {b: f"{b[4:]} Elm Street, the old brick house behind the school" for b, _ in TWO_ELMS}
    assert which(TWO_ELMS, long) == [
        "12 Elm Street, the old 1A",
        "12 Elm Street, the old 1B",
        "21 Elm Street, the old 3C",
    ]
    alike = {b: f"Gardens of the old brewery at the river {b}" for b, _ in TWO_ELMS}
    assert which(TWO_ELMS, alike)[0] == "Gardens of the old (elm-12) 1A"
    nine = tuple((f"b{n}", "1A") for n in range(9))
    names = {b: f"{b[1:]} Some Long Avenue North" for b, _ in nine}
    assert which(nine, names) == [f"{b} 1A" for b, _ in nine]
    assert which(nine[:2], {}) == ["b0 1A", "b1 1A"]


def test_homes_that_one_text_cannot_hold_are_left_out() -> None:
    """The first are offered and can be chosen; "other home" is for the rest."""
    many = tuple((f"building-{n}", "1A") for n in range(30))
    offered = which(many, {})
    assert 5 < len(offered) < 30
    assert offered == [f"building-{n} 1A" for n in range(len(offered))]
