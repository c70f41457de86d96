"""A tenant at the page of an apartment: follows links and sends forms like a plain browser."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import unescape
from typing import Any

from httpx import Response
from sqlalchemy import func, select
from whole_service import BUILDING, Running

from service.store.tables import Complaint
from service.usecases.hearing.web_doors import issue_door

__all__ = ["Visitor", "count", "open_complaints", "visitor"]


@dataclass
class Visitor:
    """Somebody with a card; ``page`` is what they see now."""

    service: Running
    key: str
    language: str = "en"
    page: str = ""
    status: int = 0
    address: str = ""
    seen: list[Response] = field(default_factory=list)

    def open(self, page: str = "", **query: str) -> str:
        """Open one of the pages."""
        path = f"/home/{self.key}" + (f"/{page}" if page else "")
        return self._show(self.service.call("GET", path, params={"lang": self.language, **query}))

    def send(self, page: str, **fields: Any) -> str:
        """Send the form that is on the page to an address, and follow where it leads."""
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', self.page))
        return self.send_exactly(page, {**hidden, **fields})

    def send_exactly(self, page: str, fields: dict[str, Any], files: Any = None) -> str:
        """Send just these fields."""
        path = f"/home/{self.key}/{page}"
        answer = self.service.call(
            "POST", path, params={"lang": self.language}, data=fields, files=files
        )
        self.seen.append(answer)
        if answer.status_code == 303:
            answer = self.service.call("GET", answer.headers["location"])
        return self._show(answer)

    def hidden(self, name: str) -> str:
        """A hidden field of the form on the page."""
        found = re.search(rf'name="{name}" value="([^"]*)"', self.page)
        assert found is not None
        return found[1]

    @property
    def heading(self) -> str:
        """The page's first heading."""
        found = re.search(r"<h1[^>]*>(.*?)</h1>", self.page, re.DOTALL)
        assert found is not None, self.page
        return unescape(found[1].strip())

    @property
    def words(self) -> str:
        """What the page says, without tags."""
        body = self.page[self.page.index("<body") :]
        return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())

    def _show(self, answer: Response) -> str:
        self.status, self.address = answer.status_code, str(answer.url)
        self.page = answer.text
        return self.page


def visitor(service: Running, apartment: str = "2A", language: str = "en") -> Visitor:
    """Somebody who has just scanned the card of an apartment."""
    now = service.services.now()
    with service.services.db.transaction() as session:
        key = issue_door(session, now, BUILDING, apartment)
    found = Visitor(service, key, language)
    found.open()
    return found


def count(service: Running, table: Any, *where: Any) -> int:
    """Rows in a table."""
    with service.services.db.reading() as session:
        return session.scalar(select(func.count()).select_from(table).where(*where)) or 0


def open_complaints(service: Running) -> list[dict[str, Any]]:
    """Every open complaint as staff see it."""
    with service.services.db.reading() as session:
        ids = list(session.scalars(select(Complaint.id).where(Complaint.closed_at.is_(None))))
    return [service.get(f"/api/v1/complaints/{c}", "desk") for c in ids]
