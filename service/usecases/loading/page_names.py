"""The name a page's conversation has in place of a phone number, and what is read there.

This lies below the outbox: what answers a page is on the page as soon as it is written, and no
gateway could deliver it.
"""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import InboxMessage

__all__ = ["VIA_CALL", "VIA_PAGE", "is_page", "page_name", "read_on_page"]

VIA_PAGE = "web"
VIA_CALL = "call"  # told on the telephone, written down at the desk
_PREFIX = "web:"


def page_name(home: tuple[str, str]) -> str:
    """What stands for a number when a home speaks through its page."""
    return f"{_PREFIX}{home[0]}/{home[1]}"


def is_page(number: str) -> bool:
    """Whether a number is the name of a page."""
    return number.startswith(_PREFIX)


def read_on_page(session: Session, to: str, message_id: str | None) -> bool:
    """Whether a text is read on a page: it goes to one, or answers what was sent there."""
    if is_page(to):
        return True
    if message_id is None:
        return False
    via = session.scalar(select(InboxMessage.via).where(InboxMessage.id == message_id))
    return via == VIA_PAGE
