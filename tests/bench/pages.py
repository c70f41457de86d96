"""How much the truck's pages weigh over a poor link, and how fast the desk's queue paints.

The service runs in process on a free port, with 500 open tickets. Bytes are counted where they leave
the service, so what a service worker fetches counts as well: headers and bodies as they are sent,
without the frames of TCP. The link is Chromium's own emulation, switched on for the page and for its
service worker; each of the two has the whole link for itself there, which no real link gives them.
"""

from __future__ import annotations

import json
import statistics
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from browsing import app_of, on_a_port
from playwright.sync_api import Browser, Page
from rich.console import Console
from rich.table import Table
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from whole_service import EVENING, KeepingGateway, Running, running, settings_for

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session
from service.clock import ManualClock
from tests.bench.full_queue import STOPS_TODAY, TECHNICIAN, TICKETS, fill_queue
from tests.bench.in_chromium import chromium, signed_in

__all__ = ["bench_pages"]

# 50 kbit/s and 2 s to the first byte of each answer.
_LINK = {"offline": False, "latency": 2000, "downloadThroughput": 6250, "uploadThroughput": 6250}
_PHONE = {"width": 390, "height": 844}
_MOST_KB, _USABLE_S, _PAINT_MS = 100.0, 5.0, 200.0
_TRUCK_RUNS, _DESK_RUNS = 3, 9
_PATIENCE_MS = 120_000
# Time from the start of the navigation to the frame in which a selector first has a box.
_WATCH = """(wanted) => {
  const look = () => {
    const all = document.querySelectorAll(wanted.selector);
    const last = all[all.length - 1];
    if (all.length >= wanted.count && last.getClientRects().length) {
      requestAnimationFrame(() => { window.benchShown = performance.now(); });
    } else requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}"""
_FIRST_PAINT = """() => new Promise((done) => new PerformanceObserver((list) => {
  for (const e of list.getEntriesByName('first-contentful-paint')) done(e.startTime);
}).observe({ type: 'paint', buffered: true }))"""
_ANSWERED = "performance.getEntriesByType('navigation')[0].responseStart"
# The phone has the worksheets of the day.
_CARRIED = """async (stops) => {
  if (!(await caches.has('endswitch-carried'))) return false;
  const kept = await (await caches.open('endswitch-carried')).keys();
  return kept.filter((k) => k.url.includes('/truck/worksheets/')).length >= stops;
}"""
# A check that is shown, with a field or a choice for what was found.
_READING = (
    "#steps > li:not(.later) form.finding :is(input[name=value]:not([type=hidden]), label.choice)"
)


@dataclass(slots=True)
class _Sent:
    """Counts what leaves an application, by path."""

    app: ASGIApp
    answers: list[tuple[str, int]] = field(default_factory=list)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def counting(message: Message) -> None:
            size = len(message.get("body", b""))
            if message["type"] == "http.response.start":
                # Status line, date, and what stands around each header.
                size += 60 + sum(len(n) + len(v) + 4 for n, v in message.get("headers", ()))
            self.answers.append((scope["path"], size))
            await send(message)

        await self.app(scope, receive, counting)

    def kb(self) -> float:
        """Everything so far, in KB of 1000 bytes."""
        return sum(size for _, size in self.answers) / 1000


@dataclass(frozen=True, slots=True)
class _Visit:
    """One first load of a page on a phone that holds nothing."""

    paint_s: float
    usable_s: float
    kb_when_usable: float
    kb_in_all: float  # with everything the service worker has fetched for the whole day


def bench_pages(console: Console) -> None:
    """Print the truck's pages over a poor link and the desk's queue, each beside its target."""
    with (
        tempfile.TemporaryDirectory(prefix="endswitch-bench-") as folder,
        running(settings_for(Path(folder)), ManualClock(EVENING), KeepingGateway()) as service,
    ):
        tickets = fill_queue(service)
        sent = _Sent(app_of(service))
        with on_a_port(sent) as address, chromium() as browser:  # type: ignore[arg-type]
            console.print(_truck_table(browser, service, sent, address, tickets[0]))
            console.print(_desk_table(browser, service, address))


def _truck_table(
    browser: Browser, service: Running, sent: _Sent, address: str, ticket: str
) -> Table:
    table = Table(
        title=f"Truck, first load at 50 kbit/s and 2 s latency, {STOPS_TODAY} stops "
        f"(medians of {_TRUCK_RUNS})"
    )
    for name in ("page", "what", "target", "reached", ""):
        table.add_column(name, justify="left" if name in {"page", "what"} else "right")
    pages = (
        ("the day", "/truck", ".stops a"),
        ("a ticket", f"/truck/tickets/{ticket}", _READING),
    )
    for name, path, usable in pages:
        visits = [
            _visit(browser, service, sent, address + path, usable) for _ in range(_TRUCK_RUNS)
        ]
        paint, shown, first, whole = (
            statistics.median(getattr(v, part) for v in visits)
            for part in ("paint_s", "usable_s", "kb_when_usable", "kb_in_all")
        )
        table.add_row(name, "first words on the screen", "", f"{paint:.1f} s")
        _row(table, "", "usable", shown, _USABLE_S, "s")
        _row(table, "", "sent until then", first, _MOST_KB, "KB")
        _row(table, "", "sent in all, with what the phone keeps", whole, _MOST_KB, "KB")
    return table


def _visit(browser: Browser, service: Running, sent: _Sent, address: str, usable: str) -> _Visit:
    more: dict[str, Any] = {"viewport": _PHONE, "has_touch": True, "is_mobile": True}
    with (
        signed_in(browser, service.services, address, Role.TRUCK, TECHNICIAN, **more) as context,
        _slow_workers(browser),
    ):
        page = context.new_page()
        session = context.new_cdp_session(page)
        session.send("Network.enable")
        session.send("Network.emulateNetworkConditions", _LINK)
        sent.answers.clear()
        paint_ms, usable_ms = _open(page, address, usable, 1)
        first = sent.kb()
        page.wait_for_function(_CARRIED, arg=STOPS_TODAY, timeout=_PATIENCE_MS, polling=500)
        return _Visit(paint_ms / 1000, usable_ms / 1000, first, sent.kb())


def _open(page: Page, address: str, selector: str, wanted: int) -> tuple[float, float]:
    """Milliseconds from the start of the navigation to the first paint, and until all is shown."""
    page.add_init_script(f"({_WATCH})({json.dumps({'selector': selector, 'count': wanted})})")
    page.goto(address, wait_until="commit", timeout=_PATIENCE_MS)
    page.wait_for_function("window.benchShown", timeout=_PATIENCE_MS)
    return float(page.evaluate(_FIRST_PAINT)), float(page.evaluate("window.benchShown"))


@contextmanager
def _slow_workers(browser: Browser) -> Iterator[None]:
    """Every service worker that starts meanwhile has the poor link too."""
    session = browser.new_browser_cdp_session()

    def slow_down(event: dict[str, Any]) -> None:
        info = event["targetInfo"]
        if info["type"] == "service_worker":
            session.send("Target.attachToTarget", {"targetId": info["targetId"], "flatten": False})

    def tell(event: dict[str, Any]) -> None:
        for n, (method, params) in enumerate(
            (("Network.enable", {}), ("Network.emulateNetworkConditions", _LINK))
        ):
            message = json.dumps({"id": n, "method": method, "params": params})
            session.send(
                "Target.sendMessageToTarget",
                {"sessionId": event["sessionId"], "message": message},
            )

    session.on("Target.targetCreated", slow_down)
    session.on("Target.attachedToTarget", tell)
    session.send("Target.setDiscoverTargets", {"discover": True})
    try:
        yield
    finally:
        session.detach()


def _desk_table(browser: Browser, service: Running, address: str) -> Table:
    table = Table(title=f"Desk, {TICKETS} open tickets, no link between (medians of {_DESK_RUNS})")
    for name in ("what", "target", "reached", ""):
        table.add_column(name, justify="left" if name == "what" else "right")
    served = statistics.median(_served_ms(service, address) for _ in range(_DESK_RUNS))
    loads: list[tuple[float, float, float]] = []
    with signed_in(browser, service.services, address, Role.DESK) as context:
        for _ in range(_DESK_RUNS + 1):
            page = context.new_page()
            paint, rows = _open(page, f"{address}/desk", "#rows > tr", TICKETS)
            loads.append((paint, rows, float(page.evaluate(_ANSWERED))))
            page.close()
    # The first load fetched style and script as well; it is a line of its own.
    paint, rows, answered = (statistics.median(part) for part in zip(*loads[1:], strict=True))
    table.add_row("the service makes the page (outside Chromium)", "", f"{served:.0f} ms")
    table.add_row("first byte in Chromium", "", f"{answered:.0f} ms")
    _row(table, "first words on the screen", paint, _PAINT_MS, "ms")
    _row(table, "all rows on the screen", rows, _PAINT_MS, "ms")
    table.add_row("all rows, after the first byte", "", f"{rows - answered:.0f} ms")
    table.add_row("all rows, nothing in the cache (once)", "", f"{loads[0][1]:.0f} ms")
    return table


def _served_ms(service: Running, address: str) -> float:
    with service.services.db.transaction() as session:
        secret = open_session(session, Role.DESK, service.services.now())
    request = urllib.request.Request(  # noqa: S310 - our own service on loopback
        f"{address}/desk", headers={"Cookie": f"{COOKIE}={secret}", "Accept-Encoding": "gzip"}
    )
    start = time.perf_counter()
    with urllib.request.urlopen(request) as answer:  # noqa: S310
        answer.read()
    return (time.perf_counter() - start) * 1000


def _row(table: Table, *rest: Any) -> None:
    *names, reached, target, unit = rest
    digits = 1 if unit == "s" else 0
    table.add_row(
        *names,
        f"{target:.0f} {unit}",
        f"{reached:.{digits}f} {unit}",
        "reached" if reached <= target else "missed",
    )
