"""What was stated of a ticket bears the names of the trade's list, as programs outside know them.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "20261130_1140"
down_revision = "20261130_0810"
branch_labels = None
depends_on = None

Rows = list[dict[str, Any]]

# As the rows of the catalogue were told when this was written.
_TOLD_AS = {
    "check_valve_stays_open": "check_valve_leaking",
    "strainer_blocked": "strainer_clogged",
    "balance_shut": "balance_error",
    "tap_keeps_hot_back": "dhw_crossover",
}
_FIRST_PLACES = 3  # components whose leading fault comes before all other suspects
_FORECASTS = sa.table(
    "forecasts", sa.column("ticket_id", sa.String()), sa.column("suspects", sa.JSON())
)
_DETAILS = sa.table(
    "closure_details",
    sa.column("closure_id", sa.Integer()),
    sa.column("verdict", sa.String()),
    sa.column("first", sa.JSON()),
    sa.column("last", sa.JSON()),
)
_CLOSURES = sa.table(
    "closures",
    sa.column("id", sa.Integer()),
    sa.column("fault", sa.String()),
    sa.column("component", sa.String()),
)


def upgrade() -> None:
    """Rename and add up in what is kept; a version before compares names and finds fewer alike."""
    connection = op.get_bind()
    forecasts = connection.execute(sa.select(_FORECASTS)).all()
    for row in forecasts:
        if _has_others(row.suspects):
            mine = _FORECASTS.c.ticket_id == row.ticket_id
            stated = _told(row.suspects)
            connection.execute(sa.update(_FORECASTS).where(mine).values(suspects=stated))
    details = connection.execute(
        sa.select(_DETAILS, _CLOSURES.c.fault, _CLOSURES.c.component).join(
            _CLOSURES, _CLOSURES.c.id == _DETAILS.c.closure_id
        )
    ).all()
    for row in details:
        if _has_others(row.first) or _has_others(row.last) or row.fault in _TOLD_AS:
            first = _told(row.first)
            verdict = _verdict(first, _TOLD_AS.get(row.fault, row.fault), row.component)
            mine = _DETAILS.c.closure_id == row.closure_id
            told = {"first": first, "last": _told(row.last), "verdict": verdict}
            connection.execute(sa.update(_DETAILS).where(mine).values(**told))


def _has_others(suspects: Rows) -> bool:
    return any(suspect["fault"] in _TOLD_AS for suspect in suspects)


def _told(suspects: Rows) -> Rows:
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for suspect in suspects:
        name = str(_TOLD_AS.get(suspect["fault"], suspect["fault"]))
        row = found.setdefault(
            (name, suspect["component"]), {**suspect, "fault": name, "probability": 0.0}
        )
        row["probability"] = round(row["probability"] + suspect["probability"], 4)
    ranked = sorted(found.values(), key=lambda row: -row["probability"])
    places = list(dict.fromkeys(suspect["component"] for suspect in suspects))[:_FIRST_PLACES]
    leading = [next(row for row in ranked if row["component"] == place) for place in places]
    return leading + [row for row in ranked if row not in leading]


def _verdict(first: Rows, fault: str | None, component: str | None) -> str | None:
    if fault is None or not first:
        return None
    if first[0]["component"] != component:
        return "elsewhere"
    return "right" if first[0]["fault"] == fault else "same_part"
