"""The fields of a form as they were stored with what it told."""

from __future__ import annotations

import json

from service.store.tables import InboxMessage
from service.usecases.loading.page_names import VIA_CALL, VIA_PAGE

__all__ = ["DANGER_FIELD", "form_fields"]

DANGER_FIELD = "danger"  # which danger a press on a tenant's page has told


def form_fields(message: InboxMessage) -> dict[str, object]:
    """The fields of a form, of a tenant's page or the desk's for calls; none for other texts."""
    if message.via not in {VIA_PAGE, VIA_CALL}:
        return {}
    try:
        fields = json.loads(message.raw)
    except ValueError:  # cut off, as a danger kept beside the database may be
        return {}
    return fields if isinstance(fields, dict) else {}
