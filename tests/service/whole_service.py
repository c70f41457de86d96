"""A whole service in process: an embedded database, a clock that is moved, texts that are kept.

Migrations run once a process, and the test building is loaded once: an embedded database that is not
there yet begins as a copy of that file.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from anyio.from_thread import start_blocking_portal
from httpx import ASGITransport, AsyncClient, Response
from sqlalchemy import select

from service.app import create_app
from service.auth.links import issue_link
from service.auth.roles import Role
from service.auth.tokens import issue_token
from service.clock import Clock, ManualClock, SystemClock
from service.settings import Settings
from service.store.database import Database
from service.store.migrations import migrate
from service.store.tables import FactRow, NumberRow, TimerRow
from service.usecases.rows.services import Outgoing, Services

EVENING = datetime(2026, 1, 10, 0, 0, tzinfo=UTC)  # 7 pm in New York, before quiet hours
BUILDING = "quarry-9"


@dataclass
class KeepingGateway:
    """Keeps what it was given; fails as often as it is told to."""

    sent: list[Outgoing] = field(default_factory=list)
    failures_left: int = 0

    def send(self, outgoing: Outgoing) -> None:
        """Keep the text."""
        if self.failures_left:
            self.failures_left -= 1
            raise OSError("the gateway is down")
        self.sent.append(outgoing)


@dataclass
class Running:
    """A running service, driven by plain calls."""

    services: Services
    gateway: KeepingGateway
    tokens: dict[str, str]
    _portal: Any
    _client: AsyncClient
    smtp_port: int
    _numbers: Iterator[int] = field(default_factory=lambda: iter(range(1, 10_000)))

    def call(self, method: str, path: str, role: str | None = None, **more: Any) -> Response:
        """Any request, as a role."""
        headers = dict(more.pop("headers", {}))
        if role is not None:
            headers["Authorization"] = f"Bearer {self.tokens[role]}"

        async def send() -> Response:
            return await self._client.request(method, path, headers=headers, **more)

        answer: Response = self._portal.call(send)
        return answer

    def get(self, path: str, role: str) -> Any:
        """The JSON of something that is there."""
        answer = self.call("GET", path, role)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def text(
        self,
        sender: str,
        words: str,
        message_id: str | None = None,
        sent_at: datetime | None = None,
    ) -> dict[str, Any]:
        """A text from a number, written just now unless said otherwise; the answer."""
        body = {
            "id": message_id or f"text-{next(self._numbers)}",
            "from": sender,
            "to": "+12125550199",
            "text": words,
            "sent_at": (sent_at or self.services.now()).isoformat(),
        }
        answer = self.call("POST", "/api/v1/texts", "gateway", json=body)
        assert answer.status_code == 200, answer.text
        found: dict[str, Any] = answer.json()
        return found

    def sign_in(self, role: Role) -> None:
        """Through the door with a link that works once; the cookie is kept for what follows."""
        with self.services.db.transaction() as session:
            secret = issue_link(session, role, self.services.now())
        answer = self.call("POST", f"/enter/{secret}")
        assert answer.status_code == 303, answer.text

    def page(self, address: str) -> str:
        """A page that is there, for whoever is signed in."""
        answer = self.call("GET", address)
        assert answer.status_code == 200, answer.text
        return answer.text

    def move(self, to: datetime) -> list[dict[str, Any]]:
        """Move the clock; the texts that were sent."""
        answer = self.call("PUT", "/api/v1/clock", "owner", json={"now": to.isoformat()})
        assert answer.status_code == 200, answer.text
        sent: list[dict[str, Any]] = answer.json()["sent"]
        return sent

    def wait(self, **span: float) -> list[dict[str, Any]]:
        """Move the clock by a span."""
        return self.move(self.services.now() + timedelta(**span))

    def open_tickets(self) -> list[dict[str, Any]]:
        """The desk's queue."""
        found: list[dict[str, Any]] = self.get("/api/v1/tickets?state=open", "desk")
        return found

    def only_ticket(self) -> dict[str, Any]:
        """The one open ticket."""
        (found,) = self.open_tickets()
        return found

    def measure(self, ticket: str, **finding: Any) -> Response:
        """A technician records what was measured or seen; taken or refused."""
        path = f"/api/v1/tickets/{ticket}/findings"
        return self.call("POST", path, "truck", json=finding)

    def next_asks(self, replies: list[dict[str, Any]]) -> dict[str, Any] | None:
        """What is asked now, or after the wait when the tenant was told to do something first."""
        found: dict[str, Any] | None = replies[-1]["asks"] if replies else None
        with self.services.db.reading() as session:
            due = session.scalar(
                select(TimerRow.due_at).where(
                    TimerRow.purpose == "check", TimerRow.done_at.is_(None)
                )
            )
        if found is None and due is not None:
            found = self.move(max(due, self.services.now()))[-1]["asks"]
        return found

    def close(self, ticket: str, **found: Any) -> dict[str, Any]:
        """A technician closes a ticket, with a cause or with a note alone; the ticket after it."""
        body = {"note": "done"} | found
        answer = self.call("POST", f"/api/v1/tickets/{ticket}/close", "truck", json=body)
        assert answer.status_code == 200, answer.text
        closed: dict[str, Any] = answer.json()
        return closed


def building_document(building: str = BUILDING, name: str = "9 Quarry Street") -> dict[str, Any]:
    """Two loops of four homes each, valves on one transformer a loop."""
    return {
        "schema": 1,
        "building": building,
        "name": name,
        "timezone": "America/New_York",
        "heat_rule": "us-ny-nyc",
        "weather_station": "kqry",
        "built": 1931,
        "construction": "masonry",
        "heat_sources": [
            {
                "id": "boiler-1",
                "kind": "hot_water_boiler",
                "output_btuh": 270000,
                "control": "fixed",
                "hot_water": "none",
                "installed": "2012-08",
            }
        ],
        "transformers": [{"id": f"xf-{n}", "va": 40, "installed": "2012-08"} for n in (1, 2)],
        "loops": [
            {
                "id": f"loop-{n}",
                "source": "boiler-1",
                "circulator": {"id": f"pump-{n}", "installed": "2019-10"},
                "relay": {"id": f"relay-{n}", "transformer": f"xf-{n}", "installed": "2012-08"},
            }
            for n in (1, 2)
        ],
        "apartments": [_home(floor, line) for floor in (1, 2, 3, 4) for line in ("A", "B")],
    }


def _home(floor: int, line: str) -> dict[str, Any]:
    side = 1 if floor < 3 else 2
    return {
        "id": f"{floor}{line}",
        "floor": floor,
        "line": line,
        "emitter": "fin_tube",
        "loop": f"loop-{side}",
        "zoning": "zone_valve",
        "valve": {
            "kind": "motor_4wire",
            "transformer": f"xf-{side}",
            "va": 7.0,
            "installed": "2014-03",
        },
        "thermostat": {"kind": "battery", "installed": "2016-11"},
    }


def mobile(apartment: str) -> str:
    """The number registered for an apartment of the test building, or of another like it."""
    floor, line = int(apartment[0]), "ABCD".index(apartment[1])
    return f"+121255501{floor * 10 + line:02d}"


def household_rows(document: dict[str, Any] | None = None) -> list[dict[str, Any]]:
    """One household for each apartment, of the test building or of another."""
    document = document or building_document()
    return [
        {
            "building": document["building"],
            "apartment": a["id"],
            "name": f"Household {a['id']}",
            "mobile": mobile(a["id"]),
            "email": "",
            "language": "en",
            "care": [],
        }
        for a in document["apartments"]
    ]


def cold_weather(around: datetime = EVENING, outdoor_f: float = 20.0) -> dict[str, Any]:
    """Twenty degrees outside, or others, two days back and four ahead."""
    hours = [
        {"at": (around + timedelta(hours=h)).isoformat(), "outdoor_f": outdoor_f}
        for h in range(-48, 97)
    ]
    return {"hours": hours}


@contextmanager
def running(settings: Settings, clock: Clock | None, gateway: KeepingGateway) -> Iterator[Running]:
    """The application with its lifespan, SMTP door and jobs included."""
    app = create_app(settings, clock, gateway)
    tokens = _let_in(app.state.services)
    transport = ASGITransport(app)
    with (
        start_blocking_portal() as portal,
        portal.wrap_async_context_manager(app.router.lifespan_context(app)),
        portal.wrap_async_context_manager(
            AsyncClient(transport=transport, base_url="http://127.0.0.1:8025")
        ) as client,
    ):
        port = app.state.intake.port
        yield Running(app.state.services, gateway, tokens, portal, client, port)


@contextmanager
def cold_evening(state: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A service with the test building, its households and a cold night."""
    (state / "endswitch.db").write_bytes(_filled())
    with running(settings_for(state), ManualClock(EVENING), gateway) as service:
        yield service


def _let_in(services: Services) -> dict[str, str]:
    """A token for each role, in a database with the present schema."""
    if services.settings.database_url is not None:
        migrate(services.db.engine)
        return _issue(services.db)
    embedded = services.settings.state / "endswitch.db"
    content, tokens = _with_tokens()
    if not embedded.exists():
        embedded.parent.mkdir(parents=True, exist_ok=True)
        embedded.write_bytes(content)
    return tokens


def _issue(db: Database) -> dict[str, str]:
    with db.transaction() as session:
        return {role.value: issue_token(session, role, SystemClock().now()) for role in Role}


@cache
def migrated() -> bytes:
    """The file of an embedded database with the present schema and nothing in it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "endswitch.db"
        db = Database(f"sqlite:///{path}")
        migrate(db.engine)
        db.close()
        return path.read_bytes()


@cache
def _with_tokens() -> tuple[bytes, dict[str, str]]:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "endswitch.db"
        path.write_bytes(migrated())
        db = Database(f"sqlite:///{path}")
        tokens = _issue(db)
        db.close()
        return path.read_bytes(), tokens


@cache
def _filled() -> bytes:
    with TemporaryDirectory() as folder:
        state = Path(folder)
        with running(settings_for(state), ManualClock(EVENING), KeepingGateway()) as service:
            fill(service)
        return (state / "endswitch.db").read_bytes()


def break_database(service: Running) -> None:
    """Put something that is no database where the embedded database was.

    At no moment is there no file, of which a job that wakes would make an empty database.
    """
    state = service.services.settings.state
    service.services.db.engine.dispose()
    database, broken = state / "endswitch.db", state / "broken"
    (state / "kept-endswitch.db").hardlink_to(database)
    broken.write_bytes(b"this is no database " * 400)
    broken.replace(database)
    for path in state.glob("endswitch.db-*"):
        path.rename(path.with_name(f"kept-{path.name}"))
    service.services.db.engine.dispose()


def mend_database(service: Running) -> None:
    """The database is back, as it was."""
    state = service.services.settings.state
    service.services.db.engine.dispose()
    for path in sorted(state.glob("kept-*"), reverse=True):  # the database itself last
        path.replace(path.with_name(path.name.removeprefix("kept-")))
    service.services.db.engine.dispose()


def spoil_conversation(service: Running, number: str, state: str = "no such state") -> None:
    """A damaged row: what is known of a number can no longer be read, and nothing of it decided."""
    with service.services.db.transaction() as session:
        row = session.merge(NumberRow(number=number, updated_at=service.services.now()))
        row.conversation = {"state": state}


def mend_conversation(service: Running, number: str) -> None:
    """The damaged row is gone."""
    with service.services.db.transaction() as session:
        session.delete(session.get_one(NumberRow, number))


def spoil_diagnosis(service: Running) -> None:
    """A damaged row: a fact of the test building of a kind that no table knows."""
    with service.services.db.transaction() as session:
        session.add(
            FactRow(
                building_id=BUILDING,
                apartment="4B",
                source="damaged",
                at=service.services.now(),
                body={"type": "reported", "kinds": ["no such kind"], "noise": None},
            )
        )


def settings_for(state: Path, url: str | None = None) -> Settings:
    """Settings of a test service: any free SMTP port, a clock that stands still."""
    return Settings(state=state, database_url=url, smtp_port=0, clock="manual", gateway="file")


def fill(
    service: Running, document: dict[str, Any] | None = None, outdoor_f: float = 20.0
) -> Running:
    """Load the test building, or another at its station, with people and weather through the API."""
    document = document or building_document()
    base = f"/api/v1/buildings/{document['building']}"
    for path, body in (
        (base, document),
        (f"{base}/households", household_rows(document)),
        ("/api/v1/weather/kqry", cold_weather(outdoor_f=outdoor_f)),
    ):
        answer = service.call("PUT", path, "owner", json=body)
        assert answer.status_code == 200, answer.text
    return service


def said(answer: dict[str, Any]) -> str:
    """All that a text was answered."""
    return " ".join(reply["text"] for reply in answer["replies"])


def topics_asked(replies: list[dict[str, Any]]) -> list[str]:
    """What replies, or texts that time has sent, ask about."""
    return [reply["asks"]["topic"] for reply in replies if reply["asks"] is not None]
