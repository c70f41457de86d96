"""The queue and a ticket in a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table

__all__ = ["print_queue", "print_ticket"]


def print_queue(console: Console, tickets: Sequence[Mapping[str, Any]], zone: ZoneInfo) -> None:
    """All open tickets, most pressing first."""
    table = Table(title="The queue, most pressing first", title_justify="left")
    for name in ("respond by", "because", "building", "homes", "first suspect", "chance"):
        table.add_column(name, overflow="fold")
    for ticket in tickets:
        because = ticket["because"]
        parts, suspects = ticket["by_component"], ticket["suspects"]
        table.add_row(
            _when(ticket["respond_by"], zone),
            ("DANGER. " if ticket["danger"] else "") + (because[0]["rule"] if because else ""),
            ticket["building"] or "not known yet",
            ", ".join(ticket["apartments"]) or "not known yet",
            f"{parts[0]['component']}: {suspects[0]['fault']}" if parts else "none named",
            f"{parts[0]['probability']:.0%}" if parts else "",
        )
    console.print(table)


def print_ticket(console: Console, ticket: Mapping[str, Any], zone: ZoneInfo) -> None:
    """One ticket as a technician would want it read out."""
    homes = ", ".join(ticket["apartments"]) or "home not known yet"
    console.print(
        f"\nTicket {ticket['id']}: {ticket['building']}, {homes}; "
        f"{ticket['scope']} {ticket['component']}"
    )
    for reason in ticket["because"]:
        console.print(f"  by {_when(reason['at'], zone)}: {reason['rule']} ({reason['source']})")
    console.print("  Suspects")
    for suspect in ticket["suspects"][:5]:
        console.print(
            f"    {suspect['probability']:>4.0%}  {suspect['fault']} at {suspect['component']}"
            f", explains {', '.join(suspect['explains'])}"
        )
    console.print("  Checks, in this order")
    for check in ticket["checks"][:5]:
        console.print(
            f"    {check['minutes']:g} min  {check['test']} at {check['component']}: "
            f"healthy {check['healthy']}"
        )
    console.print("  On the truck")
    for load in ticket["load"][:6]:
        console.print(f"    {load['quantity']} x {load['part']} ({load['chance_used']:.0%})")


def _when(at: str, zone: ZoneInfo) -> str:
    return f"{datetime.fromisoformat(at).astimezone(zone):%a %d %b %H:%M}"
