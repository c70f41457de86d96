"""How much the truck's pages weigh over a poor link, and how fast the desk's queue paints.

The service runs in process on a free port, with 500 open tickets. Bytes are counted where they leave
the service, so what the service worker fetches counts as well: headers and bodies as they are sent,
without what TCP adds. The poor link is Chromium's own emulation: it delays each answer by the
latency, but no connection, and it begins anew for each page.
"""

from __future__ import annotations

import json
import logging
import re
import statistics
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

import structlog
from browsing import app_of, on_a_port
from playwright.sync_api import Browser, Page
from rich.console import Console
from rich.table import Table
from whole_service import EVENING, KeepingGateway, Running, running, settings_for

from service.auth.roles import Role
from service.auth.sessions import COOKIE, open_session
from service.clock import ManualClock
from tests.bench.full_queue import STOPS_TODAY, TECHNICIAN, TICKETS, fill_queue
from tests.bench.in_chromium import chromium, signed_in
from tests.bench.sent import Sent

__all__ = ["bench_pages"]

# 50 kbit/s and 2 s to the first byte of each answer.
_LINK = {"offline": False, "latency": 2000, "downloadThroughput": 6250, "uploadThroughput": 6250}
_PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
}
_MOST_KB, _USABLE_S, _PAINT_MS = 100.0, 5.0, 200.0
_TRUCK_RUNS, _DESK_RUNS = range(3), 9
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
# What a phone keeps for later, beside the page that is open.
_IS_KEPT = re.compile(r"/truck/(carried|worksheets)(/|$)")
# A check that is shown, with a field or a choice for what was found.
_READING = (
    "#steps > li:not(.later) form.finding :is(input[name=value]:not([type=hidden]), label.choice)"
)


def bench_pages(console: Console) -> None:
    """Print the truck's pages over a poor link and the desk's queue, each beside its target."""
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    with (
        tempfile.TemporaryDirectory(prefix="endswitch-bench-") as folder,
        running(settings_for(Path(folder)), ManualClock(EVENING), KeepingGateway()) as service,
    ):
        tickets = fill_queue(service)
        sent = Sent(app_of(service))
        with on_a_port(sent) as address, chromium() as browser:  # type: ignore[arg-type]
            console.print(_truck_table(browser, service, sent, address, tickets[0]))
            console.print(_desk_table(browser, service, address))


def _truck_table(
    browser: Browser, service: Running, sent: Sent, address: str, ticket: str
) -> Table:
    table = Table(
        title=f"Truck, first load at 50 kbit/s and 2 s latency (medians of {len(_TRUCK_RUNS)})"
    )
    for name in ("page", "what", "target", "reached", ""):
        table.add_column(name, justify="left" if name in {"page", "what"} else "right")
    there = f"/truck/tickets/{ticket}"
    pages = (
        ("the day", "/truck", ".stops a", "usable: a stop to open"),
        ("a ticket", there, _READING, "usable: a check and a field for its reading"),
    )
    for name, path, selector, usable in pages:
        slow = [_slow_visit(browser, service, sent, address, path, selector) for _ in _TRUCK_RUNS]
        paint, shown, first = (statistics.median(part) for part in zip(*slow, strict=True))
        _quick_visit(browser, service, sent, address + path)
        own = sent.kb() - sent.kb(_IS_KEPT)
        if ticket in path:  # the page and the service worker each ask for it
            own += sent.kb(re.compile(f"/truck/worksheets/{ticket}"))
        table.add_row(name, "first words on the screen", "", f"{paint / 1000:.1f} s")
        _row(table, "", usable, shown / 1000, _USABLE_S, "s")
        _row(table, "", "sent until then", first, _MOST_KB, "KB")
        _row(table, "", "sent in all, without other tickets", own, _MOST_KB, "KB")
        kept = f"with the {STOPS_TODAY} tickets the phone then keeps"
        table.add_row("", kept, "", f"{sent.kb():.0f} KB", end_section=True)
    after = [
        _slow_visit(browser, service, sent, address, there, _READING, before="/truck")
        for _ in _TRUCK_RUNS
    ]
    shown = statistics.median(visit[1] for visit in after)
    _row(table, "a ticket, after the day", pages[1][3], shown / 1000, _USABLE_S, "s")
    return table


def _slow_visit(
    browser: Browser,
    service: Running,
    sent: Sent,
    address: str,
    path: str,
    selector: str,
    *,
    before: str = "",
) -> tuple[float, float, float]:
    """Over the poor link: first paint and usable in ms, KB until then.

    ``before`` is opened first, on a good link and without a service worker: style is on the phone
    then, the ticket is not.
    """
    more = {**_PHONE, "service_workers": "block" if before else "allow"}
    with signed_in(browser, service.services, address, Role.TRUCK, TECHNICIAN, **more) as context:
        page = context.new_page()
        if before:
            page.goto(address + before, wait_until="load")
        session = context.new_cdp_session(page)
        session.send("Network.enable")
        session.send("Network.emulateNetworkConditions", _LINK)
        sent.answers.clear()
        _watch(page, selector, 1)
        paint, shown = _open(page, address + path)
        return paint, shown, sent.kb()


def _quick_visit(browser: Browser, service: Running, sent: Sent, address: str) -> None:
    """Without the poor link, until the phone keeps the whole day: the bytes are the same."""
    with signed_in(browser, service.services, address, Role.TRUCK, TECHNICIAN, **_PHONE) as context:
        page = context.new_page()
        sent.answers.clear()
        page.goto(address)
        _until(page, _CARRIED, STOPS_TODAY)


def _watch(page: Page, selector: str, wanted: int) -> None:
    """On each page that opens, note when so many things have come on the screen."""
    page.add_init_script(f"({_WATCH})({json.dumps({'selector': selector, 'count': wanted})})")


def _open(page: Page, address: str) -> tuple[float, float]:
    """Milliseconds from the start of the navigation to the first paint, and until all is shown."""
    page.goto(address, wait_until="commit", timeout=_PATIENCE_MS)
    _until(page, "() => window.benchShown > 0")
    return float(page.evaluate(_FIRST_PAINT)), float(page.evaluate("window.benchShown"))


def _until(page: Page, script: str, argument: object = None) -> None:
    """Ask from outside again and again: the pages' policy lets nothing be evaluated inside."""
    deadline = time.monotonic() + _PATIENCE_MS / 1000
    while not page.evaluate(script, argument):
        if time.monotonic() > deadline:
            raise TimeoutError(f"the page never came so far: {script}")
        time.sleep(0.05)


def _until(page: Page, script: str, argument: object = None) -> None:
    """Ask from outside again and again: the pages' policy lets nothing be evaluated inside."""
    deadline = time.monotonic() + _PATIENCE_MS / 1000
    while not page.evaluate(script, argument):
        if time.monotonic() > deadline:
            raise TimeoutError(f"the page never came so far: {script}")
        time.sleep(0.05)


def _desk_table(browser: Browser, service: Running, address: str) -> Table:
    table = Table(title=f"Desk, {TICKETS} open tickets, no link between (medians of {_DESK_RUNS})")
    for name in ("what", "target", "reached", ""):
        table.add_column(name, justify="left" if name == "what" else "right")
    served = statistics.median(_served_ms(service, address) for _ in range(_DESK_RUNS))
    loads: list[tuple[float, float, float]] = []
    with signed_in(browser, service.services, address, Role.DESK) as context:
        page = context.new_page()
        _watch(page, "#rows > tr", TICKETS)
        for _ in range(_DESK_RUNS + 1):
            paint, rows = _open(page, f"{address}/desk")
            loads.append((paint, rows, float(page.evaluate(_ANSWERED))))
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
