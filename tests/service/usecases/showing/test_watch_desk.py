"""The desk's live line: what a page is told, from whichever process the change came."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import anyio
import pytest
from whole_service import KeepingGateway, Running, mobile, running, settings_for

from service.pages.desk.live import Watcher, follow
from service.usecases.showing.watch_desk import desk_stamp


async def next_event(line: AsyncIterator[str]) -> tuple[str, dict[str, Any], str]:
    """The next event that is more than a setting: its name, what it says, its id."""
    async for piece in line:
        fields = dict(part.split(": ", 1) for part in piece.split("\n") if ": " in part)
        if "event" in fields:
            return fields["event"], json.loads(fields["data"]), fields["id"]
    raise AssertionError("the line has ended")


def stamp_of(service: Running) -> str:
    """The present stamp."""
    with service.services.db.reading() as session:
        return desk_stamp(session)


def test_a_page_hears_which_tickets_have_changed(service: Running) -> None:
    """First a sign of life, then each change with its tickets; the id is what was seen last."""
    seen = stamp_of(service)

    async def listen() -> None:
        line = follow(Watcher(service.services), seen, lambda: True)
        name, says, at = await next_event(line)
        assert (name, at) == ("beat", seen)
        answer = await anyio.to_thread.run_sync(service.text, mobile("1A"), "no heat, 58 degrees")
        name, says, at = await next_event(line)
        assert name == "change"
        assert says["changed"] == [answer["ticket"]]
        assert (says["open"], says["everything"]) == (1, False)
        assert at == stamp_of(service)
        await line.aclose()

    anyio.run(listen)


def test_a_page_whose_session_has_ended_hears_no_more(service: Running) -> None:
    """Signed out on another page, the line ends instead of telling what has changed."""
    signed_in = [True]

    async def listen() -> None:
        line = follow(Watcher(service.services), stamp_of(service), lambda: signed_in[0])
        await next_event(line)
        signed_in[0] = False
        await anyio.to_thread.run_sync(service.text, mobile("1A"), "no heat, 58 degrees")
        with pytest.raises(AssertionError, match="the line has ended"):
            await next_event(line)

    anyio.run(listen)


def test_a_page_that_was_away_is_told_to_look_at_everything(service: Running) -> None:
    """What it names as seen is not the present; from then on it is up to date."""
    seen = stamp_of(service)
    service.text(mobile("1A"), "no heat, 58 degrees")

    async def come_back() -> None:
        line = follow(Watcher(service.services), seen, lambda: True)
        name, says, at = await next_event(line)
        assert (name, says["everything"], at) == ("change", True, stamp_of(service))
        await line.aclose()

    anyio.run(come_back)


def test_a_change_of_another_process_is_heard(service: Running, tmp_path: Path) -> None:
    """Two services on one database: what one decides, a page at the other hears."""
    url = service.services.settings.database
    other_settings = settings_for(tmp_path / "other", url)
    with running(other_settings, service.services.clock, KeepingGateway()) as other:
        seen = stamp_of(other)

        async def listen() -> None:
            line = follow(Watcher(other.services), seen, lambda: True)
            await next_event(line)
            answer = await anyio.to_thread.run_sync(service.text, mobile("2B"), "too hot, 84")
            name, says, _ = await next_event(line)
            assert (name, says["changed"]) == ("change", [answer["ticket"]])
            await line.aclose()

        anyio.run(listen)


def test_nothing_new_leaves_the_stamp_alone(service: Running) -> None:
    """Looking changes nothing; a text, an act and an acknowledgement each do."""
    ticket = service.text(mobile("1A"), "no heat, 58 degrees")["ticket"]
    first = stamp_of(service)
    assert stamp_of(service) == first
    version = service.get(f"/api/v1/tickets/{ticket}", "desk")["version"]
    body = {"version": version, "to": "A. Okafor"}
    assert service.call("POST", f"/api/v1/tickets/{ticket}/assign", "desk", json=body).is_success
    assert stamp_of(service) != first
