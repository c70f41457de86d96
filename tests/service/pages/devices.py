"""People with accounts and the devices they use, for tests of the ways in."""

from __future__ import annotations

from functools import cache
from typing import Any

from httpx import Response
from sqlalchemy import select
from whole_service import Running

from service.auth.passwords import hash_password
from service.auth.roles import Role
from service.auth.sessions import open_session
from service.store.tables import Account, AuditRow
from service.usecases.staff.audit_read import verify_audit

PASSWORD = "violet kettle on a slow ferry"


@cache
def kept() -> str:
    """The hash of the password: made once, for it is slow on purpose."""
    return hash_password(PASSWORD)


def person(service: Running, login: str, role: Role, *, password: bool = True) -> str:
    """An account; its login."""
    with service.services.db.transaction() as session:
        session.add(
            Account(
                login=login,
                name=login.title(),
                role=role.value,
                password_hash=kept() if password else None,
                created_at=service.services.now(),
            )
        )
    return login


class Device:
    """A browser with cookies of its own."""

    def __init__(self, service: Running) -> None:
        self._service = service
        self.cookies: dict[str, str] = {}

    def call(self, method: str, path: str, **more: Any) -> Response:
        """Send a request; keep and forget cookies as told."""
        self._service._client.cookies.clear()
        headers = dict(more.pop("headers", {}))
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        answer = self._service.call(method, path, headers=headers, **more)
        for cookie in answer.cookies.jar:
            self.cookies[cookie.name] = cookie.value or ""
        return answer

    def get(self, path: str) -> Response:
        """Look at a page."""
        return self.call("GET", path)

    def post(self, path: str, **typed: str) -> Response:
        """Send a form."""
        return self.call("POST", path, data=typed)

    def sign_in(self, login: str, password: str = PASSWORD, **more: str) -> Response:
        """With a password."""
        return self.post("/sign-in", login=login, password=password, **more)


def signed_in(service: Running, login: str) -> Device:
    """A device on which somebody has signed in, without the work of a password."""
    device = Device(service)
    with service.services.db.transaction() as session:
        role = Role(session.get_one(Account, login).role)
        device.cookies["endswitch"] = open_session(session, role, service.services.now(), login)
    return device


def noted(service: Running) -> list[tuple[str, str, str]]:
    """Who did what to what, in order; and the chain is whole."""
    with service.services.db.reading() as session:
        assert verify_audit(session).broken is None
        rows = session.scalars(select(AuditRow).order_by(AuditRow.seq)).all()
        return [(row.account, row.act, row.subject) for row in rows]


def everything_noted(service: Running) -> str:
    """All words of the audit log."""
    with service.services.db.reading() as session:
        return "\n".join(
            f"{r.account} {r.act} {r.subject} {r.details}"
            for r in session.scalars(select(AuditRow))
        )
