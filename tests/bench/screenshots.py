"""Pictures of the main pages after the demo's night, for the README."""

from __future__ import annotations

import io
import logging
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

import structlog
from browsing import app_of, on_a_port
from PIL import Image
from playwright.sync_api import Browser
from whole_service import Running, running

from service.auth.roles import Role
from service.auth.who import COMMAND_LINE, Who
from service.clock import ManualClock
from service.demo.play import Player
from service.demo.run import FIXTURES
from service.demo.script import read_script
from service.demo.wire import Wire
from service.settings import Settings
from service.sms.gateways import make_gateway
from service.usecases.desk.assign_ticket import assign_ticket
from service.usecases.desk.hold_ticket import hold_ticket
from service.usecases.hearing.web_doors import issue_door
from service.usecases.staff.accounts import add_account
from tests.bench.in_chromium import chromium, signed_in

__all__ = ["take_pictures"]

MOST_BYTES = 120_000
_DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 1000}}
_PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "has_touch": True,
    "is_mobile": True,
}


@dataclass(frozen=True, slots=True)
class _Picture:
    """One page as somebody sees it; ``at`` is what is brought to the upper edge."""

    name: str
    role: Role | None
    path: str
    look: dict[str, Any]
    at: str = ""


def take_pictures(folder: Path) -> None:
    """Play the night, look at each page, write a PNG of a palette for each."""
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    folder.mkdir(parents=True, exist_ok=True)
    with _after_the_night() as (service, address), chromium() as browser:
        for picture in _pictures(service):
            content = _small(_seen(browser, service, address, picture))
            (folder / f"{picture.name}.png").write_bytes(content)
            sys.stdout.write(f"{picture.name}.png {len(content) / 1000:.0f} KB\n")


@contextmanager
def _after_the_night() -> Iterator[tuple[Running, str]]:
    script = read_script(FIXTURES)
    with tempfile.TemporaryDirectory(prefix="endswitch-pictures-") as state:
        settings = Settings(
            state=Path(state), database_url=None, smtp_port=0, clock="manual", gateway="file"
        )
        with (
            running(settings, ManualClock(script.starts), make_gateway(settings)) as service,  # type: ignore[arg-type]
            on_a_port(app_of(service)) as address,
        ):
            player = Player(
                script,
                Wire(address, service.smtp_port, service.tokens),
                settings.state / "outbox.jsonl",
                intake=settings.intake_address,
                domain=settings.sms_domain,
            )
            player.set_the_stage()
            for _ in player.play(lambda _: None):
                pass
            yield service, address


def _pictures(service: Running) -> list[_Picture]:
    """The pages, after the desk has done its first work of the morning."""
    tickets = service.get("/api/v1/tickets?state=open", "desk")
    key = _work_at_the_desk(service, tickets)
    cold = max(tickets, key=lambda ticket: len(ticket["apartments"]))
    ticket, building = cold["id"], cold["building"]
    suspect = cold["suspects"][0]["component"]
    desk, truck = _account(_DESK, "m.ilves"), _account(_PHONE, "r.moreno")
    dark = {**truck, "color_scheme": "dark"}
    return [
        _Picture("desk-queue", Role.DESK, "/desk", desk),
        _Picture("desk-ticket", Role.DESK, f"/desk/tickets/{ticket}", desk),
        _Picture("truck-day", Role.TRUCK, "/truck", truck),
        _Picture("truck-ticket", Role.TRUCK, f"/truck/tickets/{ticket}", truck),
        _Picture("truck-check", Role.TRUCK, f"/truck/tickets/{ticket}", truck, "#checks"),
        _Picture("truck-check-dark", Role.TRUCK, f"/truck/tickets/{ticket}", dark, "#checks"),
        _Picture("tenant-page", None, f"/home/{key}", _PHONE),
        _Picture("component", Role.DESK, f"/plant/{building}/{suspect}", desk),
        _Picture("owner-buildings", Role.OWNER, "/owner", _DESK),
        _Picture("owner-parts", Role.OWNER, f"/owner/buildings/{building}", _DESK),
        _Picture("audit-log", Role.ADMIN, "/admin/audit", _DESK),
    ]


def _account(look: dict[str, Any], login: str) -> dict[str, Any]:
    return {**look, "account": login}


def _work_at_the_desk(service: Running, tickets: Sequence[Mapping[str, Any]]) -> str:
    """Two people, two tickets given to one of them, one put off; the key of a home's page."""
    now, ilves = service.services.now(), Who("m.ilves", Role.DESK, "M. Ilves")
    with service.services.db.transaction() as session:
        for login, name, role in (
            ("m.ilves", "M. Ilves", Role.DESK),
            ("r.moreno", "R. Moreno", Role.TRUCK),
        ):
            add_account(session, now, COMMAND_LINE, login, name, role)
        for ticket in tickets:
            known = ticket["id"], ticket["version"]
            if ticket["apartments"] == ["2A"]:
                until = now + timedelta(days=2)
                hold_ticket(session, now, ilves, *known, until, "The household is away")
            elif ticket["apartments"] != ["2E"]:
                assign_ticket(session, now, ilves, *known, "R. Moreno")
        return issue_door(session, now, "canal-77", "2C")


def _seen(browser: Browser, service: Running, address: str, picture: _Picture) -> bytes:
    role = picture.role or Role.GATEWAY
    with signed_in(browser, service.services, address, role, **picture.look) as context:
        if picture.role is None:
            context.clear_cookies()
        page = context.new_page()
        answer = page.goto(address + picture.path)
        if answer is None or not answer.ok:
            raise RuntimeError(f"no page at {picture.path}")
        page.wait_for_timeout(800)  # what script adds is there
        if picture.at:
            page.locator(picture.at).evaluate("e => e.scrollIntoView({ block: 'start' })")
            page.wait_for_timeout(100)
        return page.screenshot()


def _small(png: bytes) -> bytes:
    """The same picture with a palette: half the bytes, and nobody sees it on flat pages."""
    image = Image.open(io.BytesIO(png)).convert("RGB")
    for colours in (256, 128, 64):
        out = io.BytesIO()
        image.quantize(colours, kmeans=3, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
        if out.tell() <= MOST_BYTES:
            break
    return out.getvalue()


if __name__ == "__main__":
    take_pictures(Path(sys.argv[1]))
