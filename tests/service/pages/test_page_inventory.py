"""Every page there is has a browser test that opens it; the list of pages comes from the router."""

from __future__ import annotations

import ast
from pathlib import Path

from fastapi.routing import iter_route_contexts

from service.pages import make_pages

SERVICE_TESTS = Path(__file__).parents[1]
# What is answered with something else than a page of its own.
NO_PAGES = {
    "/static/{digest}/{name}": "files",
    "/desk/queue.csv": "a table to save; test_queue_table",
    "/owner/buildings/{building}/heat/table.csv": "a table to save; test_heat_record",
    "/desk/session": "what a page asks to warn in time; test_desk_staying_in_browser",
    "/desk/rows": "rows for a queue that is open already; test_desk_live_in_browser",
    "/desk/changes": "the live line; test_desk_live and test_desk_stories_in_browser",
    "/photos/{photo_id}": "a picture",
    "/plant/{building}/{component:path}/label.svg": "a drawing",
    "/repairs/photos/{photo_id}": "a picture",
    "/truck/carried": "what a truck's script keeps for a place without signal",
    "/truck/static/{digest}/{name}": "files",
    "/truck/worker.js": "a script",
    "/truck/worksheets/{ticket_id}": "what a truck's script keeps for a place without signal",
    "/turns/of/{ticket_id}": "what the script of a ticket's page asks for",
}


def pages(method: str = "GET") -> set[str]:
    """The declared paths that a browser can open, or send a form to."""
    return {
        str(route.path)
        for route in iter_route_contexts(make_pages().routes)
        if method in (getattr(route, "methods", None) or ())
    }


def browsed() -> dict[str, list[str]]:
    """Which browser tests name which pages, in a tuple or dict ``BROWSED``."""
    found: dict[str, list[str]] = {}
    for path in sorted(SERVICE_TESTS.rglob("test_*.py")):
        text = path.read_text(encoding="utf-8")
        if "pytest.mark.browser" not in text or "BROWSED" not in text:
            continue
        for node in ast.parse(text).body:
            if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "BROWSED":
                for page in ast.literal_eval(node.value):
                    found.setdefault(page, []).append(path.name)
    return found


def test_no_page_is_without_a_browser_test() -> None:
    """A page that nobody opens in a real browser is a page that nobody has seen."""
    missing = sorted(pages() - browsed().keys() - NO_PAGES.keys())
    assert not missing, (
        "Pages without a browser test. Open each in Chromium (axe, dark, 320 px) and name its path "
        'in the BROWSED of that test; the shortest way is one line "<path>": "<address>" in BROWSED of '
        f"pages/test_plain_pages_in_browser.py: {missing}"
    )


def test_no_browser_test_names_a_page_that_is_gone() -> None:
    """The tables of the tests are kept as tidy as the router."""
    there = pages() | pages("POST")  # some forms are answered with a page
    gone = {page: tests for page, tests in browsed().items() if page not in there}
    assert not gone
    assert not NO_PAGES.keys() - pages()
