"""Dangers that the database could not take: kept in memory and in a file until it can.

One JSON line a danger, readable by the service's own user only. What cannot be written is kept in
memory: a full disk must not keep anybody from being told. Needs no database.
"""

from __future__ import annotations

import base64
import json
import os
import threading
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import structlog

__all__ = ["DangerJournal", "Unstored"]

log = structlog.get_logger("endswitch.danger")

LONGEST_RAW = 64 * 1024
MOST_KEPT = 1000
# Common practice, no source. Who cannot be checked while the database is down may not make us text
# the whole town; the same danger is told to the same number once within the shorter time.
AGAIN_AFTER = timedelta(minutes=10)
MOST_AN_HOUR = 120
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Unstored:
    """A text that speaks of danger and is not in the inbox yet."""

    via: str
    sender_id: str  # the sender's own id; on a page the word of its form
    number: str  # E.164; empty for a page
    text: str
    dangers: tuple[str, ...]
    at: datetime
    raw: bytes = b""
    door: str = ""  # the hash of a page's key
    told_at: datetime | None = None  # when the leave-now text was handed to the gateway

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells a text that is delivered again from another one."""
        return self.via, self.door, self.sender_id


class DangerJournal:
    """The dangers that still have to be stored, and how many were told without the database."""

    def __init__(self, path: Path | None = None) -> None:
        """Go on with what ``path`` holds; without a path everything is in memory only."""
        self._path = path
        self._lock = threading.RLock()
        self._told: deque[tuple[datetime, str, tuple[str, ...]]] = deque(maxlen=MOST_KEPT)
        self._entries = {entry.key: entry for entry in self._read()}
        self._in_hand: set[tuple[str, str, str]] = set()

    def add(self, entry: Unstored) -> bool:
        """Keep a danger, in hand until released; False when it is kept already, or with too many."""
        with self._lock:
            if entry.key in self._entries or len(self._entries) >= MOST_KEPT:
                return False
            short = replace(entry, raw=entry.raw[:LONGEST_RAW])
            self._entries[entry.key] = short
            self._in_hand.add(entry.key)
            self._write()
            return True

    def release(self, entry: Unstored) -> None:
        """Whoever added it has done with it."""
        with self._lock:
            self._in_hand.discard(entry.key)

    def may_tell(self, entry: Unstored, now: datetime) -> bool:
        """Whether to hand this one to the gateway now."""
        with self._lock:
            recent = [(to, dangers) for at, to, dangers in self._told if now - at < AGAIN_AFTER]
            if (entry.number, entry.dangers) in recent:
                return False
            return sum(now - at < HOUR for at, _, _ in self._told) < MOST_AN_HOUR

    def told(self, entry: Unstored, now: datetime) -> None:
        """The leave-now text has been handed over."""
        with self._lock:
            self._told.append((now, entry.number, entry.dangers))
            if entry.key in self._entries:
                self._entries[entry.key] = replace(entry, told_at=now)
                self._write()

    def waiting(self) -> tuple[Unstored, ...]:
        """What is not stored yet and nobody has in hand, oldest first."""
        with self._lock:
            return tuple(e for key, e in self._entries.items() if key not in self._in_hand)

    def drop(self, entry: Unstored) -> None:
        """It is stored now, or nobody can ever store it."""
        with self._lock:
            if self._entries.pop(entry.key, None) is not None:
                self._write()

    def _write(self) -> None:
        """The whole journal anew; it is short, and empty nearly always."""
        if self._path is None:
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            if not self._entries:
                self._path.unlink(missing_ok=True)
                return
            fresh = self._path.with_suffix(".new")
            with os.fdopen(
                os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w"
            ) as out:
                out.writelines(_line(entry) for entry in self._entries.values())
                out.flush()
                os.fsync(out.fileno())
            fresh.replace(self._path)
        except OSError as error:
            log.warning("danger_journal_not_written", error=type(error).__name__)

    def _read(self) -> Iterable[Unstored]:
        try:
            lines = self._path.read_text("ascii").splitlines() if self._path is not None else []
        except (OSError, ValueError):
            return
        for line in lines:
            try:
                yield _entry(line)
            except (ValueError, LookupError, TypeError):
                log.warning("danger_journal_line_not_read")


def _line(entry: Unstored) -> str:
    row = {
        "via": entry.via,
        "sender_id": entry.sender_id,
        "number": entry.number,
        "text": entry.text,
        "dangers": list(entry.dangers),
        "at": entry.at.isoformat(),
        "raw": base64.b64encode(entry.raw).decode("ascii"),
        "door": entry.door,
        "told_at": entry.told_at.isoformat() if entry.told_at else None,
    }
    return json.dumps(row, ensure_ascii=True) + "\n"


def _entry(line: str) -> Unstored:
    row = json.loads(line)
    told_at = row["told_at"]
    return Unstored(
        via=str(row["via"]),
        sender_id=str(row["sender_id"]),
        number=str(row["number"]),
        text=str(row["text"]),
        dangers=tuple(str(danger) for danger in row["dangers"]),
        at=datetime.fromisoformat(row["at"]),
        raw=base64.b64decode(row["raw"]),
        door=str(row["door"]),
        told_at=datetime.fromisoformat(told_at) if told_at else None,
    )
