"""Keys and cards: unguessable, kept as hashes, shown once, made by the desk alone."""

from __future__ import annotations

import re

import pytest
import segno
from at_the_door import visitor
from sqlalchemy import select
from whole_service import BUILDING, Running

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session
from service.store.tables import HomeDoor
from service.usecases.hearing.web_doors import issue_cards, issue_door, open_door

CARDS = f"/desk/buildings/{BUILDING}/cards"


def signed_in(service: Running, role: Role) -> dict[str, str]:
    """Headers of somebody signed in."""
    with service.services.db.transaction() as session:
        return {"cookie": f"{COOKIE}={open_session(session, role, service.services.now())}"}


def addresses(page: str) -> list[str]:
    """The addresses printed on the cards."""
    return re.findall(r"<bdi>(http[^<]+)</bdi>", page)


def test_a_key_opens_one_apartment_however_it_is_typed(service: Running) -> None:
    """Capitals, spaces and missing dashes do not matter; another letter does."""
    now = service.services.now()
    with service.services.db.transaction() as session:
        key = issue_door(session, now, BUILDING, "3A")
        for typed in (key, key.upper(), key.replace("-", ""), f" {key.replace('-', ' ')}"):
            door = open_door(session, typed)
            assert door is not None
            assert door.home == (BUILDING, "3A")
        assert open_door(session, ("3" if key[0] == "2" else "2") + key[1:]) is None


def test_only_a_hash_is_kept(service: Running) -> None:
    """Whoever reads the database has no key; two keys for one home differ and both work."""
    first, second = visitor(service), visitor(service)
    assert first.key != second.key
    with service.services.db.reading() as session:
        kept = session.scalars(select(HomeDoor.key_hash)).all()
        assert open_door(session, first.key) == open_door(session, second.key)
    assert all(first.key.replace("-", "") not in one for one in kept)


@pytest.mark.parametrize("key", ["x", "22222-22222-22222-22222", "%00", "é", "a" * 300])
def test_an_unknown_key_is_told_so_in_words(service: Running, key: str) -> None:
    """Not found, in the browser's language, with the danger line."""
    answer = service.call("GET", f"/home/{key}", headers={"accept-language": "es-MX,es;q=0.9"})
    assert answer.status_code == 404
    assert "Esta tarjeta no sirve" in answer.text
    assert "911" in answer.text


@pytest.mark.parametrize("role", [None, Role.TRUCK, Role.OWNER])
def test_only_the_desk_makes_cards(service: Running, role: Role | None) -> None:
    """Nobody else sees the page or makes a key."""
    headers = signed_in(service, role) if role else {}
    for method in ("GET", "POST"):
        assert service.call(method, CARDS, headers=headers).status_code in {401, 403}
    with service.services.db.reading() as session:
        assert session.scalars(select(HomeDoor)).all() == []


def test_every_apartment_gets_a_card_that_works(service: Running) -> None:
    """Eight homes, eight addresses, each opening its own home; the code holds the address."""
    desk = signed_in(service, Role.DESK)
    asked = service.call("GET", CARDS, headers=desk)
    assert "no card yet" in asked.text
    page = service.call("POST", CARDS, headers=desk, data={"once": "b" * 20}).text
    found = addresses(page)
    assert len(found) == 8
    opened = [service.call("GET", address).text for address in found]
    assert ["1A" in opened[0], "4B" in opened[-1]] == [True, True]
    drawn = segno.make(found[0], error="m", micro=False).svg_inline(
        border=4, omitsize=True, dark="#000", light="#fff", svgclass="qr"
    )
    assert drawn in page
    assert 'lang="es"' in page


def test_a_printing_is_done_once(service: Running) -> None:
    """Sending the form again makes no second set, and says why none is shown."""
    desk = signed_in(service, Role.DESK)
    service.call("POST", CARDS, headers=desk, data={"once": "c" * 20, "apartment": "2A"})
    again = service.call("POST", CARDS, headers=desk, data={"once": "c" * 20, "apartment": "2A"})
    assert again.status_code == 409
    with service.services.db.reading() as session:
        assert len(session.scalars(select(HomeDoor)).all()) == 1


def test_earlier_cards_can_be_made_to_stop(service: Running) -> None:
    """After a move the old card opens nothing; the neighbour's still does."""
    old, neighbour = visitor(service, "2A"), visitor(service, "2B")
    now = service.services.now()
    with service.services.db.transaction() as session:
        (card,) = issue_cards(session, now, BUILDING, ["2A"], batch="d" * 20, replace_old=True)
    old.open()
    neighbour.open()
    assert (old.status, neighbour.status) == (404, 200)
    assert service.call("GET", f"/home/{card.key}").status_code == 200


def test_there_are_no_cards_for_homes_that_are_not(service: Running) -> None:
    """An unknown building or apartment is refused."""
    desk = signed_in(service, Role.DESK)
    assert service.call("GET", "/desk/buildings/nowhere/cards", headers=desk).status_code == 404
    answer = service.call("POST", CARDS, headers=desk, data={"apartment": "99Z"})
    assert answer.status_code == 422
