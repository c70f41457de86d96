"""The desk's live line: server-sent events that name the tickets that have changed.

Whatever process made a change, it is in the database; so each process looks there, once a second at
most however many pages listen. A page that comes back says what it saw last, by the stamp in its
address or by ``Last-Event-ID``, and is told to look at everything again if that is not the present.
"""

from __future__ import annotations

import asyncio
import json
import threading
import time
from collections.abc import AsyncIterator, Callable
from typing import Any

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from service.usecases.rows.services import Services
from service.usecases.showing.watch_desk import DeskState, desk_stamp, desk_state, talked_since

__all__ = ["Watcher", "follow", "watcher_of"]

LOOK_EVERY_SECONDS = 1.0
BEAT_EVERY_SECONDS = 15.0
# A browser comes back by itself.
LONGEST_SECONDS = 300.0
RETRY_MS = 2_000


class Watcher:
    """Looks at the database for everybody who listens in this process."""

    def __init__(self, services: Services) -> None:
        """Look with these services; nothing is asked yet."""
        self._services = services
        self._lock = threading.Lock()
        self._looked_at = float("-inf")
        self._state: DeskState | None = None

    def look(self) -> DeskState:
        """The present state, at most a second old."""
        with self._lock:
            if self._state is None or time.monotonic() - self._looked_at >= LOOK_EVERY_SECONDS:
                with self._services.db.reading() as session:
                    if self._state is None or desk_stamp(session) != self._state.stamp:
                        self._state = desk_state(session)
                self._looked_at = time.monotonic()
            return self._state

    def news(self, before: DeskState, after: DeskState) -> dict[str, Any]:
        """What a page has to know to come from one state to the other."""
        with self._services.db.reading() as session:
            talked = talked_since(session, before)
        was, now = before.versions, after.versions
        changed = {ticket for ticket, version in now.items() if was.get(ticket) != version}
        gone = was.keys() - now.keys()
        return self._about(after) | {
            "changed": sorted(changed | gone | talked),
            "everything": False,
        }

    def everything(self, after: DeskState) -> dict[str, Any]:
        """For a page that was away."""
        return self._about(after) | {"changed": [], "everything": True}

    def beat(self, state: DeskState) -> dict[str, Any]:
        """A sign of life."""
        return self._about(state)

    def _about(self, state: DeskState) -> dict[str, Any]:
        now = self._services.now().isoformat()
        return {"open": len(state.versions), "alerts": state.alerts, "now": now}


def watcher_of(request: Request) -> Watcher:
    """The one of this process."""
    state = request.app.state
    if not hasattr(state, "desk_watcher"):
        state.desk_watcher = Watcher(state.services)
    watcher: Watcher = state.desk_watcher
    return watcher


async def follow(
    watcher: Watcher, seen: str | None, may_stay: Callable[[], bool]
) -> AsyncIterator[str]:
    """The stream for one page that has seen the state with this stamp.

    It ends before the next event of a page whose session has ended.
    """
    state = await run_in_threadpool(watcher.look)
    yield f"retry: {RETRY_MS}\n\n"
    if seen is not None and seen != state.stamp:
        yield _event("change", watcher.everything(state), state.stamp)
    else:
        yield _event("beat", watcher.beat(state), state.stamp)
    began = beaten = time.monotonic()
    while time.monotonic() - began < LONGEST_SECONDS:
        await asyncio.sleep(LOOK_EVERY_SECONDS)
        after = await run_in_threadpool(watcher.look)
        is_due = time.monotonic() - beaten >= BEAT_EVERY_SECONDS
        if (is_due or after.stamp != state.stamp) and not await run_in_threadpool(may_stay):
            return
        if after.stamp != state.stamp:
            news = await run_in_threadpool(watcher.news, state, after)
            state, beaten = after, time.monotonic()
            yield _event("change", news, state.stamp)
        elif is_due:
            beaten = time.monotonic()
            yield ": still here\n" + _event("beat", watcher.beat(state), state.stamp)


def _event(name: str, data: dict[str, Any], stamp: str) -> str:
    return f"id: {stamp}\nevent: {name}\ndata: {json.dumps(data)}\n\n"
