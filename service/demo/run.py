"""Starts the service on loopback, plays the night through it and shows what came of it."""

from __future__ import annotations

import json
import shutil
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import uvicorn
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from service.app import create_app
from service.auth.links import issue_link
from service.auth.roles import Role
from service.auth.tokens import issue_token
from service.demo.play import Happening, Player
from service.demo.report import print_queue, print_ticket
from service.demo.script import Script, read_script
from service.demo.wire import Wire
from service.settings import Settings
from service.usecases.rows.services import Services

__all__ = ["run_demo"]

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
_START_SECONDS = 30.0
# The demo's clock stands still, so its links last as long as it runs.
_LINK_LASTS = timedelta(days=1)
# Local to the buildings of the demo.
_ZONE = ZoneInfo("America/New_York")


def run_demo(base: Settings, *, once: bool) -> None:
    """Play the demo; with ``once`` print the queue as JSON and end, else stay up until Ctrl-C."""
    script = read_script(FIXTURES)
    console = Console(stderr=True)
    with _state_folder(base, once=once) as state:
        settings = base.model_copy(
            update={
                "state": state,
                "database_url": None,
                "gateway": "file",
                "clock": "manual",
                "clock_start": script.starts,
                "host": "127.0.0.1",
                "port": _free_port(base.port),
                "smtp_port": _free_port(base.smtp_port),
            }
        )
        with _serving(settings) as services:
            wire = _wire(settings, services)
            _play(script, wire, settings, console)
            tickets = wire.call("desk", "GET", "/api/v1/tickets?state=open")
            if once:
                json.dump(tickets, sys.stdout, indent=2, ensure_ascii=False)
                sys.stdout.write("\n")
                return
            _show(tickets, settings, services)


def _play(script: Script, wire: Wire, settings: Settings, console: Console) -> None:
    player = Player(
        script,
        wire,
        settings.state / "outbox.jsonl",
        intake=settings.intake_address,
        domain=settings.sms_domain,
    )
    total = (script.ends - script.starts).total_seconds()
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.fields[clock]}"),
        TimeElapsedColumn(),
    )
    with Progress(*columns, console=console) as bar:
        task = bar.add_task("A cold night", total=total, clock="")
        player.set_the_stage()
        for happening in player.play(
            lambda at: bar.update(
                task,
                completed=(at - script.starts).total_seconds(),
                clock=f"{at.astimezone(_ZONE):%a %H:%M}",
            )
        ):
            bar.console.print(_line(happening), highlight=False, markup=False)


def _line(happening: Happening) -> str:
    arrow = "to  " if happening.outward else "from"
    return f"{happening.at.astimezone(_ZONE):%H:%M}  {arrow} {happening.number}  {happening.text}"


def _show(tickets: list[Mapping[str, Any]], settings: Settings, services: Services) -> None:
    console = Console()
    print_queue(console, tickets, _ZONE)
    for ticket in tickets[:2]:  # the most pressing one, and what it pushed down
        print_ticket(console, ticket, _ZONE)
    with services.db.transaction() as session:
        now = services.now()
        console.print("\nOpen in a browser (each link signs in once; press Continue):")
        for role in (Role.DESK, Role.TRUCK):
            secret = issue_link(session, role, now, _LINK_LASTS)
            console.print(f"  {role.value:6} {settings.base_url}/enter/{secret}", soft_wrap=True)
        console.print("\nTokens for the JSON interface:")
        for role in Role:
            console.print(f"  {role.value:8} {issue_token(session, role, now)}", soft_wrap=True)
    console.print(
        f"\nHTTP {settings.base_url}  SMTP 127.0.0.1:{settings.smtp_port}  "
        f"texts sent: {settings.state / 'outbox.jsonl'}\nCtrl-C ends the demo.",
        soft_wrap=True,
    )
    try:
        threading.Event().wait()
    except KeyboardInterrupt:
        console.print("Good night.")


def _wire(settings: Settings, services: Services) -> Wire:
    with services.db.transaction() as session:
        tokens = {role.value: issue_token(session, role, services.now()) for role in Role}
    return Wire(settings.base_url, settings.smtp_port, tokens)


@contextmanager
def _serving(settings: Settings) -> Iterator[Services]:
    """The real service in a thread of this process."""
    app = create_app(settings)
    server = uvicorn.Server(
        uvicorn.Config(
            app, host=settings.host, port=settings.port, log_level="error", access_log=False
        )
    )
    thread = threading.Thread(target=server.run, name="demo-service", daemon=True)
    thread.start()
    deadline = time.monotonic() + _START_SECONDS
    while not server.started:
        if not thread.is_alive() or time.monotonic() > deadline:
            raise RuntimeError("the service did not start")
        time.sleep(0.02)
    try:
        yield app.state.services
    finally:
        server.should_exit = True
        thread.join(timeout=10)


@contextmanager
def _state_folder(base: Settings, *, once: bool) -> Iterator[Path]:
    """A folder of the demo's own: thrown away after ``once``, emptied at the start otherwise."""
    if once:
        with tempfile.TemporaryDirectory(prefix="endswitch-demo-") as folder:
            yield Path(folder)
        return
    kept = base.state / "demo"
    shutil.rmtree(kept, ignore_errors=True)
    kept.mkdir(parents=True)
    yield kept


def _free_port(wanted: int) -> int:
    """The wanted port, or any free one if somebody listens there already."""
    for port in (wanted, 0):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return int(probe.getsockname()[1])
    raise RuntimeError("no free port on loopback")
