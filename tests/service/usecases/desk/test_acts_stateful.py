"""Any order of acts: no complaint is lost or on two tickets, pins hold, undoing all restores all."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)
from sqlalchemy import select
from sqlalchemy.orm import Session
from whole_service import (
    BUILDING,
    EVENING,
    KeepingGateway,
    building_document,
    cold_evening,
    mobile,
)

from rules.model import ApartmentId, Kind, Reported
from service.auth.roles import Role
from service.auth.who import Who
from service.errors import ConflictError
from service.sms.receive import sms_rules
from service.store.database import Database
from service.store.tables import Complaint, DeskAct, Ticket
from service.usecases.desk.assign_ticket import assign_ticket
from service.usecases.desk.hold_ticket import hold_ticket
from service.usecases.desk.merge_tickets import merge_tickets
from service.usecases.desk.pin_complaint import pin_complaint, unpin_complaint
from service.usecases.desk.split_ticket import split_ticket
from service.usecases.desk.undo_act import UNDO, undo_act
from service.usecases.diagnosing.rediagnose import rediagnose
from service.usecases.rows.act_rows import AUTOMATIC
from service.usecases.rows.complaint_rows import add_facts, find_complaint, open_complaint

HOMES = [str(a["id"]) for a in building_document()["apartments"]]
WHO = Who("desk-1", Role.DESK, "Desk one")
SMS = sms_rules()
homes = st.sampled_from(HOMES)
kinds = st.sampled_from([Kind.TOO_COLD, Kind.TOO_HOT])
picks = st.integers(0, 7)


@cache
def filled() -> Database:
    """A database with the test building; no example leaves anything in it."""
    state = Path(tempfile.mkdtemp())
    with cold_evening(state, KeepingGateway()) as service:
        return Database(str(service.services.db.engine.url))


class Acts(RuleBasedStateMachine):
    """Evidence and acts of people on one building, beside a plain record of what must hold."""

    def __init__(self) -> None:
        """One transaction, rolled back in the end; each act is a savepoint in it."""
        super().__init__()
        self.session = Session(filled().engine)
        self.reported: set[str] = set()
        self.pins: dict[str, str] = {}
        self.before: list[dict[str, str]] = []  # the pins before each act that is not undone
        self.versions: dict[str, int] = {}
        self.at_first: dict[str, set[str]] | None = None
        self.evidence_since = False

    def teardown(self) -> None:
        """Undo everything, the last first; without new evidence all is as it was."""
        try:
            self._undo_all()
        finally:
            self.session.rollback()  # else the next run waits for what this one has locked
            self.session.close()

    def _undo_all(self) -> None:
        while self.before:
            if not self._undo() and self.evidence_since:
                break
            self._all_are_well()
        if self.at_first is not None and not self.evidence_since:
            assert self._grouping() == self.at_first
            with self._transaction() as session:
                assert not session.scalars(select(Complaint.id).where(Complaint.pinned)).all()
                changed = Ticket.assigned_to.is_not(None) | Ticket.held_until.is_not(None)
                assert not session.scalars(
                    select(Ticket.id).where(Ticket.state == "open", changed | Ticket.alone)
                ).all()

    @initialize(told=st.dictionaries(homes, kinds, min_size=2, max_size=6))
    def some_homes_have_reported(self, told: dict[str, Kind]) -> None:
        """Reports before anybody acts."""
        self._report(told)

    @rule(home=homes, kind=kinds)
    def report(self, home: str, kind: Kind) -> None:
        """A home reports, or says something else than before."""
        self._report({home: kind})
        self.evidence_since = self.at_first is not None

    @precondition(lambda self: self.evidence_since)
    @rule(pick=picks)
    def danger(self, pick: int) -> None:
        """A home that has reported is in danger."""
        home = sorted(self.reported)[pick % len(self.reported)]
        with self._transaction() as session:
            complaint = self._of(session, home)
            complaint.danger = ["gas"]
            session.flush()
            rediagnose(session, EVENING, BUILDING)
            self.pins.pop(complaint.id, None)
            for pins in self.before:
                pins.pop(complaint.id, None)

    @rule(pick=picks, to=st.sampled_from(["R. Moreno", "K. Ivanova"]))
    def assign(self, pick: int, to: str) -> None:
        """Somebody is to take care of a ticket."""
        ticket = self._ticket(pick)
        self._act(lambda s: assign_ticket(s, EVENING, WHO, ticket.id, ticket.version, to))

    @rule(pick=picks)
    def hold(self, pick: int) -> None:
        """A ticket is put off."""
        ticket = self._ticket(pick)
        until = EVENING.replace(day=12)
        self._act(lambda s: hold_ticket(s, EVENING, WHO, ticket.id, ticket.version, until, "later"))

    @rule(pick=picks, other=picks)
    def merge(self, pick: int, other: int) -> None:
        """Two tickets are one."""
        one, two = self._ticket(pick), self._ticket(other)
        both = self._grouping()[one.id] | self._grouping()[two.id]
        if self._act(lambda s: merge_tickets(s, EVENING, WHO, one.id, one.version, two.id)):
            self.pins |= dict.fromkeys(both, two.id)

    @rule(pick=picks, part=st.sets(picks, min_size=1, max_size=3))
    def split(self, pick: int, part: set[int]) -> None:
        """Some complaints of a ticket are another thing."""
        ticket = self._ticket(pick)
        there = self._in_order(self._grouping()[ticket.id])
        chosen = self._in_order({there[n % len(there)] for n in part})
        done = self._act(lambda s: split_ticket(s, EVENING, WHO, ticket.id, ticket.version, chosen))
        if done:
            self.pins |= dict.fromkeys(chosen, done)

    @rule(pick=picks, there=picks)
    def pin(self, pick: int, there: int) -> None:
        """A complaint belongs on a ticket."""
        complaint, ticket = self._complaint(pick), self._ticket(there)
        version = self._version(complaint)
        if self._act(lambda s: pin_complaint(s, EVENING, WHO, complaint, version, ticket.id)):
            self.pins[complaint] = ticket.id

    @rule(pick=picks)
    def unpin(self, pick: int) -> None:
        """Grouping decides again."""
        complaint = self._complaint(pick)
        version = self._version(complaint)
        if self._act(lambda s: unpin_complaint(s, EVENING, WHO, complaint, version)):
            self.pins.pop(complaint, None)  # a danger stays pinned where it is alone

    @precondition(lambda self: bool(self.before))
    @rule()
    def undo(self) -> None:
        """The last act is undone."""
        assert self._undo() or self.evidence_since

    @invariant()
    def _all_are_well(self) -> None:
        """Every complaint is on one open ticket, with its home, and where it is pinned."""
        with self._transaction() as session:
            complaints = session.scalars(select(Complaint)).all()
            tickets = {t.id: t for t in session.scalars(select(Ticket))}
        assert {c.apartment for c in complaints if c.closed_at is None} == self.reported
        assert all(tickets[str(c.ticket_id)].state == "open" for c in complaints)
        used = {c.ticket_id for c in complaints}
        assert {t.id for t in tickets.values() if t.state == "open"} == used
        for home in self.reported:
            assert len({c.ticket_id for c in complaints if c.apartment == home}) == 1
        for complaint in complaints:
            if complaint.danger:
                sharing = [c for c in complaints if c.ticket_id == complaint.ticket_id]
                assert {c.apartment for c in sharing} == {complaint.apartment}
            if complaint.id in self.pins:
                assert complaint.pinned
                assert complaint.ticket_id == self.pins[complaint.id]
        for ticket in tickets.values():
            assert ticket.version >= self.versions.get(ticket.id, 0)
            self.versions[ticket.id] = ticket.version

    @contextmanager
    def _transaction(self) -> Iterator[Session]:
        with self.session.begin_nested():
            yield self.session
        self.session.expire_all()  # nothing is remembered from one to the next

    def _report(self, told: dict[str, Kind]) -> None:
        with self._transaction() as session:
            for home, kind in told.items():
                complaint = find_complaint(session, mobile(home), (BUILDING, home))
                if complaint is None:
                    complaint = open_complaint(session, EVENING, mobile(home), (BUILDING, home))
                complaint.kinds = [kind.value]
                fact = Reported(ApartmentId(home), frozenset({kind}))
                add_facts(session, EVENING, complaint, [fact], source="m_made_up", at=EVENING)
            rediagnose(session, EVENING, BUILDING)
        self.reported |= set(told)

    def _act(self, act: Callable[[Session], str]) -> str | None:
        """Do it; None when it does not fit the present state, which then is as it was."""
        if self.at_first is None:
            self.at_first = self._grouping()
        pins = dict(self.pins)
        with suppress(ConflictError), self._transaction() as session:
            found = act(session)
            self.before.append(pins)
            return found
        return None

    def _undo(self) -> bool:
        with self._transaction() as session:
            last = session.scalars(
                select(DeskAct.id)
                .where(DeskAct.account != AUTOMATIC, DeskAct.undone_at.is_(None))
                .where(DeskAct.act != UNDO)
                .order_by(DeskAct.id.desc())
                .limit(1)
            ).one()
        try:
            with self._transaction() as session:
                undo_act(session, EVENING, WHO, last, sms=SMS)
        except ConflictError:
            return False
        self.pins = {name: self._goes_on_as(there) for name, there in self.before.pop().items()}
        return True

    def _goes_on_as(self, ticket_id: str) -> str:
        """The ticket itself, or the one into which grouping has merged it since."""
        with self._transaction() as session:
            ticket = session.get_one(Ticket, ticket_id)
            while ticket.state != "open" and ticket.merged_into is not None:
                ticket = session.get_one(Ticket, ticket.merged_into)
            return ticket.id

    def _of(self, session: Session, home: str) -> Complaint:
        return session.scalars(select(Complaint).where(Complaint.apartment == home)).one()

    def _ticket(self, pick: int) -> Ticket:
        """An open ticket; ids are made by chance, so they are picked in the order of their homes."""
        ids = list(dict.fromkeys(self._complaints().values()))
        return self.session.get_one(Ticket, ids[pick % len(ids)])

    def _complaint(self, pick: int) -> str:
        names = list(self._complaints())
        return names[pick % len(names)]

    def _in_order(self, complaints: set[str]) -> list[str]:
        return [c for c in self._complaints() if c in complaints]

    def _complaints(self) -> dict[str, str]:
        """Each complaint with its ticket, in the order of the homes."""
        with self._transaction() as session:
            query = select(Complaint.id, Complaint.ticket_id).order_by(Complaint.apartment)
            return {name: str(ticket) for name, ticket in session.execute(query)}

    def _version(self, complaint: str) -> int:
        with self._transaction() as session:
            query = select(Ticket.version).join(Complaint, Complaint.ticket_id == Ticket.id)
            return session.scalars(query.where(Complaint.id == complaint)).one()

    def _grouping(self) -> dict[str, set[str]]:
        """Which complaints are on which open ticket."""
        found: dict[str, set[str]] = {}
        with self._transaction() as session:
            for complaint in session.scalars(select(Complaint)):
                found.setdefault(str(complaint.ticket_id), set()).add(complaint.id)
        return found


Acts.TestCase.settings = settings(max_examples=10, stateful_step_count=12)
TestActs = Acts.TestCase
