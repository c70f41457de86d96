"""Unknown phones: a code to the phone on file, a person, and what happens until then."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule
from sqlalchemy import select
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    Running,
    household_rows,
    migrated,
    mobile,
)

from service.auth.roles import Role
from service.store.database import Database
from service.store.tables import Alert, Building, SenderCode
from service.usecases.desk.confirm_sender import GOOD_FOR, MOST_TRIES, _hash, try_code

STRANGER = "+12125550150"
REPORT = "no heat, freezing, 9 Quarry Street apt 2B"


def _code(gateway: KeepingGateway, to: str = mobile("2B")) -> str:
    """The code that was last texted to a phone."""
    texts = [o.text for o in gateway.sent if o.to == to and "A new phone tells us" in o.text]
    return re.findall(r"\d{6}", texts[-1])[0]


def _ticket(service: Running, answer: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = service.get(f"/api/v1/tickets/{answer['ticket']}", "desk")
    return found


def _nobody_at(service: Running, apartment: str) -> None:
    rows = [r for r in household_rows() if r["apartment"] != apartment]
    path = f"/api/v1/buildings/{BUILDING}/households"
    assert service.call("PUT", path, "owner", json=rows).status_code == 200


def test_a_report_is_taken_and_marked(service: Running, gateway: KeepingGateway) -> None:
    """The report has its ticket at once, marked; a code goes to the phone on file, none to the new."""
    answer = service.text(STRANGER, REPORT)

    ticket = _ticket(service, answer)
    assert ticket["apartments"] == ["2B"]
    assert ticket["unconfirmed"] == [answer["complaint"]]
    assert "Sender not confirmed" in " ".join(e["says"] for e in ticket["history"])
    assert re.fullmatch(r"\d{6}", _code(gateway))
    assert all(r["to"] == STRANGER for r in answer["replies"])
    assert not any(re.search(r"\d{6}", r["text"]) for r in answer["replies"])


def test_the_right_code_confirms(service: Running, gateway: KeepingGateway) -> None:
    """The code from the new phone removes the mark; from then on the phone is known."""
    first = service.text(STRANGER, REPORT)
    code = _code(gateway)

    right = service.text(STRANGER, f"{code[:3]} {code[3:]}")

    assert right["replies"][0]["text"].startswith("Thank you. Now we know")
    ticket = _ticket(service, first)
    assert ticket["unconfirmed"] == []
    assert "Sender confirmed by a code" in " ".join(e["says"] for e in ticket["history"])
    again = service.text(STRANGER, code)
    assert "Now we know" not in str(again["replies"])
    assert service.get(f"/api/v1/complaints/{first['complaint']}", "desk")["confirmed"]


def test_five_wrong_tries_end_it(service: Running, gateway: KeepingGateway) -> None:
    """After five wrong codes the right one does not work either, and a person is told."""
    service.text(STRANGER, REPORT)
    code = _code(gateway)
    wrong = f"{(int(code) + 1) % 1_000_000:06d}"

    said = [service.text(STRANGER, wrong)["replies"][0]["text"] for _ in range(MOST_TRIES)]
    service.text(STRANGER, code)

    assert [("not the code" in s) for s in said] == [True] * (MOST_TRIES - 1) + [False]
    assert len(service.open_tickets()[0]["unconfirmed"]) == 1
    with service.services.db.reading() as session:
        assert "wants a person" in session.scalars(select(Alert.what)).all()


def test_a_code_is_good_for_ten_minutes(service: Running, gateway: KeepingGateway) -> None:
    """Eleven minutes later it is too old."""
    answer = service.text(STRANGER, REPORT)
    code = _code(gateway)
    service.wait(minutes=11)

    assert "too old" in service.text(STRANGER, code)["replies"][0]["text"]
    assert _ticket(service, answer)["unconfirmed"]


def test_a_code_works_only_from_the_phone_that_reported(
    service: Running, gateway: KeepingGateway
) -> None:
    """Another unknown phone cannot use it."""
    answer = service.text(STRANGER, REPORT)

    service.text("+12125550151", _code(gateway))

    assert _ticket(service, answer)["unconfirmed"]


def test_at_most_three_codes_an_hour_for_a_home(service: Running, gateway: KeepingGateway) -> None:
    """However many strangers name a home, its phone gets three codes; then the desk is asked."""
    for n in range(5):
        service.text(f"+1212555015{n}", REPORT)
    service.wait(minutes=1)

    sent = [o for o in gateway.sent if o.to == mobile("2B")]
    assert len(sent) == 3
    with service.services.db.reading() as session:
        assert list(session.scalars(select(Alert.what))).count("sender to be confirmed") == 2


def test_a_home_without_a_phone_goes_to_a_person(service: Running) -> None:
    """With no phone on file the desk is asked; the words to the stranger are the same."""
    with_phone = service.text(STRANGER, REPORT)
    _nobody_at(service, "1B")
    without = service.text("+12125550151", REPORT.replace("2B", "1B"))

    def told(answer: dict[str, Any]) -> str:
        """What is said before the question, which depends on the home."""
        *before, question = answer["replies"]
        assert question["asks"] is not None
        assert "code" not in question["text"]  # one thing is asked at a time
        return re.sub(r"T-\w{4}", "T", " ".join(r["text"] for r in before))

    assert told(with_phone) == told(without)
    (alert,) = service.get("/api/v1/alerts?state=open", "desk")
    assert alert["what"] == "sender to be confirmed"
    answer = service.call("POST", f"/api/v1/complaints/{without['complaint']}/confirm", "desk")
    assert answer.json()["confirmed"]
    assert "by the desk" in " ".join(e["says"] for e in _ticket(service, without)["history"])


def test_confirming_needs_the_desk_and_an_open_report(service: Running) -> None:
    """Others are refused; what is not there is 404, a report without a home 409."""
    unplaced = service.text(STRANGER, "no heat, freezing")["complaint"]

    assert (
        service.call("POST", f"/api/v1/complaints/{unplaced}/confirm", "truck").status_code == 403
    )
    assert service.call("POST", "/api/v1/complaints/c_none/confirm", "desk").status_code == 404
    assert service.call("POST", f"/api/v1/complaints/{unplaced}/confirm", "desk").status_code == 409


def test_a_stranger_never_changes_what_the_home_has_reported(service: Running) -> None:
    """Not its end, not its facts; both reports stand on one ticket, and the home's own counts."""
    own = service.text(mobile("2B"), "no heat, it is 58 in here")
    stranger = service.text(
        STRANGER, REPORT.replace("no heat, freezing", "way too hot, 85 in here")
    )
    path = f"/api/v1/complaints/{own['complaint']}"
    before = service.get(path, "desk")

    service.text(STRANGER, "it's fixed now, heat is back, thanks")

    after = service.get(path, "desk")
    assert stranger["complaint"] != own["complaint"]
    assert stranger["ticket"] == own["ticket"]
    assert (after["state"], after["facts"], after["kinds"]) == (
        "open",
        before["facts"],
        ["too_cold"],
    )
    assert _ticket(service, own)["state"] == "open"


def test_danger_from_a_stranger_is_never_held_up(service: Running) -> None:
    """The leave-now text first; home and stranger are on one ticket, which is a danger."""
    own = service.text(mobile("2B"), "no heat, it is 58 in here")
    service.text(STRANGER, REPORT)

    danger = service.text(STRANGER, "I smell gas")

    assert danger["replies"][0]["text"].startswith("Leave now")
    open_tickets = service.open_tickets()
    (ticket,) = [t for t in open_tickets if "2B" in t["apartments"]]
    assert ticket["danger"]
    assert set(ticket["complaints"]) == {own["complaint"], danger["complaint"]}


def test_the_code_joins_both_reports(service: Running, gateway: KeepingGateway) -> None:
    """Once confirmed, what the stranger said belongs to the home's own report."""
    own = service.text(mobile("2B"), "no heat, it is 58 in here")
    service.text(STRANGER, REPORT)

    right = service.text(STRANGER, _code(gateway))

    assert right["complaint"] == own["complaint"]
    assert _ticket(service, own)["complaints"] == [own["complaint"]]
    facts = service.get(f"/api/v1/complaints/{own['complaint']}", "desk")["facts"]
    assert len({f["source"] for f in facts}) == 2


def test_a_code_at_night_waits_and_is_good_from_then(
    service: Running, gateway: KeepingGateway
) -> None:
    """At eleven in the evening nobody is woken: the code comes at eight and is good until 8:10."""
    service.move(EVENING + timedelta(hours=4))
    service.text(STRANGER, REPORT)
    assert not any(o.to == mobile("2B") for o in gateway.sent)

    service.move(EVENING + timedelta(hours=13, minutes=5))

    assert "Now we know" in service.text(STRANGER, _code(gateway))["replies"][0]["text"]


def test_pages_say_that_the_sender_is_not_confirmed(service: Running) -> None:
    """Queue and ticket say so in words; the button of the ticket's page confirms."""
    answer = service.text(STRANGER, REPORT)
    service.sign_in(Role.DESK)
    page = f"/desk/tickets/{answer['ticket']}"
    assert "Sender not confirmed: 2B" in service.page("/desk")
    assert "The sender belongs to 2B" in service.page(page)

    path = f"/desk/complaints/{answer['complaint']}/confirm"
    assert service.call("POST", path).headers["location"] == page

    assert "The sender belongs to" not in service.page(page)


class CodeMachine(RuleBasedStateMachine):
    """One code, any tries at any times: it works once, in time, and within five tries."""

    @initialize()
    def begin(self) -> None:
        """A code has been made."""
        self.folder = TemporaryDirectory()
        path = Path(self.folder.name) / "codes.db"
        path.write_bytes(migrated())
        self.db = Database(f"sqlite:///{path}")
        self.now, self.ends = EVENING, EVENING + GOOD_FOR
        self.tries, self.done = 0, False
        with self.db.transaction() as session:
            session.add(Building(id="b", document={}, updated_at=EVENING))
            session.flush()
            session.add(
                SenderCode(
                    number=STRANGER,
                    building_id="b",
                    apartment="1A",
                    code_hash=_hash(STRANGER, "123456"),
                    made_at=EVENING,
                    ends_at=self.ends,
                    tries=0,
                )
            )

    def _try(self, text: str) -> str | None:
        with self.db.transaction() as session:
            return try_code(session, self.now, STRANGER, text)

    @rule(minutes=st.integers(0, 4))
    def wait(self, minutes: int) -> None:
        """Time passes."""
        self.now += timedelta(minutes=minutes)

    @rule()
    def wrong(self) -> None:
        """A wrong code is wrong, the fifth is the last."""
        outcome = self._try("654321")
        if self.done:
            assert outcome is None
            return
        self.tries += 1
        too_late = self.now > self.ends
        self.done = too_late or self.tries >= MOST_TRIES
        assert outcome == ("void" if self.done else "wrong")

    @rule()
    def right(self) -> None:
        """The right code works once, in time."""
        outcome = self._try("it is 123-456.")
        if self.done:
            assert outcome is None
            return
        self.done = True
        assert outcome == ("void" if self.now > self.ends else "right")

    @rule()
    def other(self) -> None:
        """A text without six digits is no try."""
        assert self._try("it is 58 in apartment 1234567") is None

    def teardown(self) -> None:
        """Let go of the database."""
        if hasattr(self, "db"):
            self.db.close()
            self.folder.cleanup()


TestCodeMachine = CodeMachine.TestCase
TestCodeMachine.settings = hypothesis_settings(
    max_examples=25, stateful_step_count=12, deadline=None
)
