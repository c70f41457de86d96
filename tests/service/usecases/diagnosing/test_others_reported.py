"""That others have reported the same is said only when it points at nobody."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from whole_service import BUILDING, Running

from rules.asking.conversation import Conversation, Heard, step
from rules.asking.sayings import sayings
from service.store.tables import Complaint
from service.usecases.desk.situation import situation_of
from service.usecases.rows.complaint_rows import open_complaint
from service.usecases.rows.ticket_rows import open_ticket

HOMES = ("1A", "1B", "2A", "2B", "3A")
NOBODY = "+12125550177"


def _reports(
    service: Running,
    others: int,
    *,
    confirmed: bool = True,
    twice: bool = False,
    kind: str = "too_cold",
) -> tuple[bool, str]:
    """Whether 4A is told that it is known, with so many others on its ticket; and the words."""
    with service.services.db.transaction() as session:
        now = service.services.now()
        ticket = open_ticket(session, now, BUILDING)
        own = open_complaint(session, now, NOBODY, (BUILDING, "4A"))
        homes = HOMES[:others] * (2 if twice else 1)
        rows = [own, *(open_complaint(session, now, NOBODY, (BUILDING, home)) for home in homes)]
        for row in rows:
            row.ticket_id = ticket.id
            row.confirmed = confirmed or row is own
            row.kinds = ["too_cold"]
        own.confirmed = True
        own.kinds = [kind]
        session.flush()
        situation = situation_of(session, now, Conversation(home=(BUILDING, "4A")), own)
        said = step(Conversation(), Heard.COMPLAINT, replace(situation, homes=((BUILDING, "4A"),)))
        return situation.known_to_us, " ".join(s.text for s in said.says)


@pytest.mark.parametrize("others", [0, 1, 2, 3, 4])
def test_only_with_three_other_homes(service: Running, others: int) -> None:
    """With none, one or two others it is not said; with three or more it is, without any detail."""
    known, words = _reports(service, others)

    assert known is (others >= 3)
    assert ("already know" in words) is (others >= 3)
    for home in HOMES:
        assert home not in re.sub(r"T-\w{4}", "", words).split(". ", 1)[1]


def test_a_noise_is_not_known_from_cold_homes(service: Running) -> None:
    """Who reports something else on the same ticket is not told that it is known."""
    assert not _reports(service, 4, kind="noise")[0]


def test_one_home_reporting_twice_is_one_home(service: Running) -> None:
    """Homes are counted, not reports."""
    assert not _reports(service, 2, twice=True)[0]


def test_invented_reports_do_not_find_out_a_real_one(service: Running) -> None:
    """Reports from phones that nobody knows do not count, however many."""
    assert not _reports(service, 5, confirmed=False)[0]


def test_somebody_unknown_is_not_told(service: Running) -> None:
    """Who is not known to live there learns nothing of the others."""
    with service.services.db.transaction() as session:
        now = service.services.now()
        ticket = open_ticket(session, now, BUILDING)
        own = open_complaint(session, now, NOBODY, (BUILDING, "4A"))
        others = [open_complaint(session, now, NOBODY, (BUILDING, home)) for home in HOMES]
        for row in (own, *others):
            row.ticket_id = ticket.id
            row.confirmed = row is not own
        session.flush()
        assert isinstance(own, Complaint)
        assert not situation_of(session, now, Conversation(), own).known_to_us


@pytest.mark.parametrize("key", ["known", "known_now"])
def test_the_words_have_no_place_for_details(key: str) -> None:
    """Neither a number nor a home nor a neighbour: the only thing filled in is a time."""
    row = sayings()[key]
    for text in (row.en, row.es):
        assert {part.split("}")[0] for part in text.split("{")[1:]} <= {"by"}
        assert not any(c.isdigit() for c in text)
        for word in ("neighbo", "vecin", "floor", "piso", "other", "otro", "apartment"):
            assert word not in text.lower()
