"""The leave-now text when nothing can be stored: it goes back to the gateway with the refusal.

Needs the text and two tables of words, nothing else: no database, no gateway, no building.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.asking.danger_reply import danger_reply
from rules.reading.danger import danger_in
from service.usecases.answer_danger import looks_spanish
from service.usecases.services import SmsRules

__all__ = ["replies_unstored"]


def replies_unstored(now: datetime, sms: SmsRules, to: str, text: str) -> list[dict[str, Any]]:
    """What the gateway should send by itself; empty unless the text speaks of danger."""
    dangers = danger_in(text)
    if not dangers:
        return []
    says = sms.fold(danger_reply(dangers, "es" if looks_spanish(text) else "en"))
    return [
        {
            "to": sms.e164(to) or to,
            "text": says,
            "segments": sms.segments(says),
            "send_at": now.isoformat(),
            "asks": None,
        }
    ]
