"""The queue and a ticket in a terminal, in the words that the pages of the desk use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table

from service.pages.suspects import part_words
from service.pages.words import capital, homes_words, kind_words, per_cent, place_words, scope_words

__all__ = ["print_queue", "print_ticket"]

# The one that counts stands first; all of them stand on the ticket's page.
_MOST_REASONS = 3


def print_queue(console: Console, tickets: Sequence[Mapping[str, Any]], zone: ZoneInfo) -> None:
    """All open tickets, most pressing first."""
    table = Table(title="The queue, most pressing first", title_justify="left")
    for name in ("respond by", "because", "building", "homes", "first suspect", "chance"):
        table.add_column(name, overflow="fold")
    for ticket in tickets:
        because, parts = ticket["because"], ticket["by_component"]
        table.add_row(
            _when(ticket["respond_by"], zone),
            ("DANGER. " if ticket["danger"] else "") + (because[0]["rule"] if because else ""),
            ticket["building"] or "not known yet",
            ", ".join(ticket["apartments"]) or "not known yet",
            _first_suspect(ticket) if parts else "none named",
            per_cent(parts[0]["probability"]) if parts else "",
        )
    console.print(table)


def print_ticket(console: Console, ticket: Mapping[str, Any], zone: ZoneInfo) -> None:
    """One ticket as a technician would want it read out."""
    homes = tuple(ticket["apartments"])
    about = capital(kind_words(tuple(ticket["kinds"])))
    danger = "DANGER. " if ticket["danger"] else ""
    console.print(
        f"\n{danger}{about}: {ticket['building']}, {homes_words(homes)} "
        f"(ticket {ticket['reference']}, {scope_words(ticket['scope'])})"
    )
    for reason in ticket["because"][:_MOST_REASONS]:
        _say(console, f"by {_when(reason['at'], zone)}: {reason['rule']} ({reason['source']})", 2)
    more = len(ticket["because"]) - _MOST_REASONS
    if more > 0:
        _say(console, f"and {more} more reasons that leave more time", 2)
    _say(console, "Suspects", 2)
    for suspect in ticket["suspects"][:5]:
        part = part_words(suspect["component"], homes)
        explains = homes_words(tuple(suspect["explains"]))
        share = per_cent(suspect["probability"])
        _say(console, f"{share}  {part}: {suspect['says']}; explains {explains}")
    _say(console, "Checks, in this order", 2)
    for check in ticket["checks"][:5]:
        part = part_words(check["component"], homes)
        if check["caution"]:
            _say(console, f"Caution: {check['caution']}")
        minutes = f"{check['minutes']:g} min, {place_words(check['place'])}, {part}"
        _say(console, f"{minutes}: {check['do']}. Healthy: {check['healthy']}")
    _say(console, "On the truck", 2)
    for load in ticket["load"][:6]:
        share = per_cent(load["chance_used"])
        many = round(load["homes_waiting"])
        waiting = f"; {many} homes wait for it" if many > 1 else ""
        _say(
            console,
            f"{load['quantity']} x {load['says']}, used in {share} of such visits{waiting}",
        )


def _first_suspect(ticket: Mapping[str, Any]) -> str:
    part = part_words(ticket["by_component"][0]["component"], tuple(ticket["apartments"]))
    leading = ticket["suspects"][0]["says"] if ticket["suspects"] else ""
    return f"{part}: {leading}" if leading else part


def _say(console: Console, line: str, indent: int = 4) -> None:
    console.print(" " * indent + line, highlight=False)


def _when(at: str, zone: ZoneInfo) -> str:
    return f"{datetime.fromisoformat(at).astimezone(zone):%a %d %b %H:%M}"
