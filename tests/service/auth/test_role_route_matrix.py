"""Every route of the application, and whom it lets in.

A new route needs one line in ``LET_IN``: method, path as it is declared, and one of the words above it.
"""

from __future__ import annotations

import asyncio
import base64
import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from fastapi.routing import iter_route_contexts
from whole_service import EVENING, KeepingGateway, Running, running, settings_for

from service.auth.roles import Role
from service.auth.sessions import open_session
from service.clock import ManualClock

NOBODY = "nobody"
ROLES = tuple(role.value for role in Role)

EVERYBODY = {NOBODY, *ROLES}  # such a route decides by a secret in its address, or has no secrets
DESK = {"desk", "admin"}
TRUCK = {"truck"}
OWNER = {"owner"}
ADMIN = {"admin"}
GATEWAY = {"gateway"}
DESK_TRUCK = DESK | TRUCK
DESK_TRUCK_OWNER = DESK | TRUCK | OWNER
STAFF = DESK_TRUCK_OWNER

LET_IN: dict[str, set[str]] = {
    # operations
    "GET /healthz": EVERYBODY,
    "GET /readyz": EVERYBODY,
    "GET /metrics": EVERYBODY,
    "GET /openapi.json": EVERYBODY,
    "GET /static/{digest}/{name}": EVERYBODY,
    # for programs
    "PUT /api/v1/buildings/{building}": OWNER,
    "PUT /api/v1/buildings/{building}/households": OWNER,
    "PUT /api/v1/weather/{station}": OWNER,
    "POST /api/v1/texts": GATEWAY,
    "POST /api/v1/readings": DESK,
    "GET /api/v1/inbox": DESK,
    "GET /api/v1/complaints/{complaint}": DESK,
    "POST /api/v1/complaints/{complaint}/number": DESK,
    "GET /api/v1/tickets": DESK_TRUCK,
    "GET /api/v1/tickets/{ticket}": DESK_TRUCK,
    "POST /api/v1/tickets/{ticket}/findings": TRUCK,
    "POST /api/v1/tickets/{ticket}/close": TRUCK,
    "GET /api/v1/alerts": DESK,
    "POST /api/v1/alerts/{alert}/acknowledge": DESK,
    "POST /api/v1/complaints/{complaint}/confirm": DESK,
    "POST /api/v1/buildings/{building}/broadcast": DESK,
    "POST /api/v1/tickets/{ticket}/broadcast": DESK,
    "POST /api/v1/tickets/{ticket}/assign": DESK,
    "POST /api/v1/tickets/{ticket}/hold": DESK,
    "POST /api/v1/tickets/{ticket}/no-danger": DESK,
    "POST /api/v1/tickets/{ticket}/release": DESK,
    "POST /api/v1/tickets/{ticket}/respond-by": DESK,
    "POST /api/v1/tickets/{ticket}/merge": DESK,
    "POST /api/v1/tickets/{ticket}/split": DESK,
    "GET /api/v1/tickets/{ticket}/acts": DESK,
    "POST /api/v1/complaints/{complaint}/pin": DESK,
    "POST /api/v1/complaints/{complaint}/unpin": DESK,
    "POST /api/v1/complaints/{complaint}/write": DESK,
    "POST /api/v1/complaints/{complaint}/place": DESK,
    "POST /api/v1/complaints/{complaint}/take-over": DESK,
    "POST /api/v1/complaints/{complaint}/hand-back": DESK,
    "POST /api/v1/acts/{act}/undo": DESK,
    "GET /api/v1/clock": OWNER,
    "PUT /api/v1/clock": OWNER,
    # in and out
    "GET /": EVERYBODY,
    "GET /enter/{token}": EVERYBODY,
    "POST /enter/{token}": EVERYBODY,
    "GET /sign-out": EVERYBODY,
    "POST /sign-out": EVERYBODY,
    "GET /sign-in": EVERYBODY,
    "POST /sign-in": EVERYBODY,
    "GET /choose-password/{token}": EVERYBODY,
    "POST /choose-password/{token}": EVERYBODY,
    "GET /account": STAFF,
    "POST /account/sign-out-everywhere": STAFF,
    "POST /account/password": STAFF,
    # admin
    "GET /admin": ADMIN,
    "POST /admin/accounts": ADMIN,
    "POST /admin/accounts/{login}/role": ADMIN,
    "POST /admin/accounts/{login}/reset": ADMIN,
    "POST /admin/accounts/{login}/off": ADMIN,
    "POST /admin/accounts/{login}/on": ADMIN,
    "POST /admin/accounts/{login}/sign-out": ADMIN,
    "GET /admin/audit": ADMIN,
    # desk
    "GET /desk": DESK,
    "GET /desk/rows": DESK,
    "GET /desk/call": DESK,
    "POST /desk/call": DESK,
    "GET /desk/queue.csv": DESK,
    "GET /desk/session": DESK,
    "POST /desk/session": DESK,
    "GET /desk/changes": DESK,
    "GET /desk/tickets/{ticket_id}": DESK,
    "GET /desk/buildings/{building}/cards": DESK,
    "POST /desk/buildings/{building}/cards": DESK,
    "POST /desk/alerts/{alert_id}/acknowledge": DESK,
    "POST /desk/complaints/{complaint_id}/confirm": DESK,
    "POST /desk/complaints/{complaint_id}/place": DESK,
    "POST /desk/complaints/{complaint_id}/number": DESK,
    "POST /desk/complaints/{complaint_id}/pin": DESK,
    "POST /desk/complaints/{complaint_id}/unpin": DESK,
    "POST /desk/complaints/{complaint_id}/take-over": DESK,
    "POST /desk/complaints/{complaint_id}/hand-back": DESK,
    "POST /desk/complaints/{complaint_id}/write": DESK,
    "POST /desk/tickets/{ticket_id}/assign": DESK,
    "POST /desk/tickets/{ticket_id}/hold": DESK,
    "POST /desk/tickets/{ticket_id}/no-danger": DESK,
    "POST /desk/tickets/{ticket_id}/release": DESK,
    "POST /desk/tickets/{ticket_id}/merge": DESK,
    "POST /desk/tickets/{ticket_id}/split": DESK,
    "POST /desk/tickets/{ticket_id}/respond-by": DESK,
    "POST /desk/tickets/{ticket_id}/write": DESK,
    "POST /desk/acts/{act_id}/undo": DESK,
    # truck
    "GET /truck": TRUCK,
    "GET /truck/tickets/{ticket_id}": TRUCK,
    "POST /truck/tickets/{ticket_id}/findings": TRUCK,
    "POST /truck/tickets/{ticket_id}/close": TRUCK,
    "POST /truck/tickets/{ticket_id}/notes": TRUCK,
    "GET /truck/carried": TRUCK,
    "GET /truck/carried/{ticket_id}": TRUCK,
    "GET /truck/worksheets/{ticket_id}": TRUCK,
    "POST /truck/arrivals": TRUCK,
    "GET /truck/without-signal": EVERYBODY,  # holds nothing; a phone keeps it
    "GET /truck/worker.js": EVERYBODY,
    "GET /truck/static/{digest}/{name}": EVERYBODY,
    # repairs
    "POST /turns/ask/{complaint_id}": DESK_TRUCK,
    "POST /turns/seen/{ask_id}": DESK_TRUCK,
    "GET /turns/of/{ticket_id}": DESK_TRUCK,
    "GET /plant/{building}/{component:path}": DESK_TRUCK_OWNER,
    "GET /plant/{building}/{component:path}/label": DESK_TRUCK,
    "GET /plant/{building}/{component:path}/label.svg": DESK_TRUCK,
    "GET /repairs/photos/{photo_id}": DESK_TRUCK,
    # owner
    "GET /owner": OWNER,
    "GET /owner/buildings/{building}": OWNER,
    "GET /owner/record": OWNER,
    "GET /owner/buildings/{building}/heat": OWNER,
    "GET /owner/buildings/{building}/heat/table.csv": OWNER,
    # tenants: the key in the address is what lets them in
    "GET /home": EVERYBODY,
    "GET /home/{key}": EVERYBODY,
    "GET /home/{key}/{page}": EVERYBODY,
    "GET /home/{key}/danger": EVERYBODY,
    "POST /home/{key}/danger": EVERYBODY,
    "POST /home/{key}/report": EVERYBODY,
    "POST /home/{key}/answer": EVERYBODY,
    "POST /home/{key}/fixed": EVERYBODY,
    "POST /home/{key}/still": EVERYBODY,
    "POST /home/{key}/person": EVERYBODY,
    "POST /home/{key}/mistake": EVERYBODY,
    "POST /home/{key}/undo": EVERYBODY,
    "POST /home/{key}/phone": EVERYBODY,
    "POST /home/{key}/photo": EVERYBODY,
    "GET /photos/{photo_id}": DESK_TRUCK,
}


@dataclass(frozen=True, slots=True)
class Answer:
    """The beginning of an answer; a stream is left after that."""

    status: int
    headers: dict[str, str]
    body: str


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """One empty service for all."""
    folder = tmp_path_factory.mktemp("matrix")
    with running(settings_for(folder), ManualClock(EVENING), KeepingGateway()) as one:
        yield one


def routes(service: Running) -> set[str]:
    """Method and declared path of every route there is; HEAD goes with GET."""
    return {
        f"{method} {route.path}"
        for route in iter_route_contexts(_app(service).router.routes)
        for method in (getattr(route, "methods", None) or {"GET"}) - {"HEAD"}
    }


def _app(service: Running) -> Any:
    return service._client._transport.app  # type: ignore[attr-defined]


def knock(service: Running, route: str, headers: dict[str, str]) -> Answer:
    """Call a route with nothing in it, 1 for everything in its path, until the answer begins."""
    method, _, path = route.partition(" ")
    path = re.sub(r"\{[^}]+\}", "1", path)
    sent = {"host": "127.0.0.1:8025", "content-type": "application/json", **headers}
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(k.encode(), v.encode()) for k, v in sent.items()],
        "client": ("127.0.0.1", 5),
        "server": ("127.0.0.1", 8025),
        "state": {},
    }
    answer: Answer = service._portal.call(_begin, _app(service), scope)
    return answer


async def _begin(app: Any, scope: dict[str, Any]) -> Answer:
    messages: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
    asked = False

    async def receive() -> dict[str, Any]:
        nonlocal asked
        if asked:
            await asyncio.sleep(3600)
        asked = True
        body = b"{}" if scope["method"] != "GET" else b""
        return {"type": "http.request", "body": body, "more_body": False}

    task = asyncio.ensure_future(app(scope, receive, messages.put))
    try:
        start = await asyncio.wait_for(messages.get(), 30)
        headers = {k.decode().lower(): v.decode() for k, v in start["headers"]}
        body = await _body(messages) if "stream" not in headers.get("content-type", "") else b""
    finally:
        task.cancel()
        await asyncio.wait([task])
    return Answer(start["status"], headers, body.decode("utf-8", "replace"))


async def _body(messages: asyncio.Queue[dict[str, Any]]) -> bytes:
    whole = b""
    more = True
    while more:
        part = await asyncio.wait_for(messages.get(), 30)
        whole += part.get("body", b"")
        more = part.get("more_body", False)
    return whole


def as_role(service: Running, role: str, route: str) -> dict[str, str] | None:
    """The headers of a role: a token for programs, a fresh session for pages; None: has no session."""
    if role == NOBODY:
        return {}
    if " /api/" in route:
        return {"authorization": f"Bearer {service.tokens[role]}"}
    if role == "gateway":
        return None
    with service.services.db.transaction() as session:
        secret = open_session(session, Role(role), service.services.now())
    return {"cookie": f"endswitch={secret}"}


def test_every_route_has_a_row(service: Running) -> None:
    """A new route says here whom it lets in; a row of a route that is gone goes too."""
    new = sorted(routes(service) - set(LET_IN))
    gone = sorted(set(LET_IN) - routes(service))
    lines = "\n".join(f'    "{route}": WHO,' for route in new)
    assert not new, (
        "Add to LET_IN in tests/service/auth/test_role_route_matrix.py, with DESK, TRUCK, OWNER, ADMIN, "
        f"GATEWAY, DESK_TRUCK, DESK_TRUCK_OWNER or EVERYBODY (secret in the address) for WHO:\n{lines}"
    )
    assert not gone, f"take these rows out of LET_IN: {gone}"


def test_each_route_lets_in_whom_it_should_and_nobody_else(service: Running) -> None:
    """Every role and nobody at every door: 401 for nobody, 403 for the others, past it for the rest."""
    wrong = []
    for route in sorted(routes(service) & set(LET_IN)):
        for role in (NOBODY, *ROLES):
            headers = as_role(service, role, route)
            if headers is None:
                continue
            status = knock(service, route, headers).status
            refusal = 401 if role == NOBODY else 403
            expected_in = role in LET_IN[route]
            if (status in {401, 403}) == expected_in or (not expected_in and status != refusal):
                wrong.append(f"{route} as {role}: {status}, should be {expected_in and 'let in'}")
            if status >= 500 and route != "GET /readyz":
                wrong.append(f"{route} as {role}: {status}")
    assert not wrong, "\n".join(wrong)


def test_a_token_opens_no_page_and_a_session_no_call(service: Running) -> None:
    """Programs come by token, people by cookie; one never stands for the other."""
    wrong = []
    for route, let_in in sorted(LET_IN.items()):
        if let_in is EVERYBODY or route not in routes(service):
            continue
        role = min(let_in - GATEWAY or {"desk"})
        if " /api/" in route:
            with service.services.db.transaction() as session:
                secret = open_session(session, Role(role), service.services.now())
            headers = {"cookie": f"endswitch={secret}"}
        else:
            headers = {"authorization": f"Bearer {service.tokens[role]}"}
        status = knock(service, route, headers).status
        if status != 401:
            wrong.append(f"{route} as {role}: {status}")
    assert not wrong, "\n".join(wrong)


# OWASP, Content Security Policy and HTTP Headers cheat sheets: nothing by default, nothing inline,
# nothing evaluated, no framing, forms only to ourselves.
LOCKED = {"default-src": "'none'", "frame-ancestors": "'none'", "base-uri": "'none'"}
# Style that travels inside a page is let in by its hash alone, sheet by sheet.
HASH = re.compile(r"'sha256-[A-Za-z0-9+/]{43}='")
SHEET = re.compile(r"<style>(.*?)</style>", re.DOTALL)
INLINE = re.compile(
    r"<style|<script(?![^>]*\ssrc=)|\sstyle=|\son[a-z]+=|javascript:", re.IGNORECASE
)


def test_the_content_policy_is_strict_everywhere_and_pages_keep_to_it(service: Running) -> None:
    """Every answer of every route, to whoever is let in, and no page that would need more."""
    wrong = []
    for route in sorted(routes(service) & set(LET_IN)):
        role = min(LET_IN[route] - {NOBODY, "gateway"} or {"gateway"})
        answer = knock(service, route, as_role(service, role, route) or {})
        policy = dict(
            part.strip().partition(" ")[::2]
            for part in answer.headers.get("content-security-policy", "").split(";")
        )
        if not LOCKED.items() <= policy.items() or policy.get("form-action") != "'self'":
            wrong.append(f"{route}: {policy}")
        sources = {w for v in policy.values() for w in v.split()}
        named = {w for w in policy.get("style-src", "").split() if HASH.fullmatch(w)}
        if not sources - named <= {"'none'", "'self'"}:
            wrong.append(f"{route} allows more than our own files: {policy}")
        if answer.headers.get("content-type", "").startswith("text/html"):
            sheets = SHEET.findall(answer.body)
            wrong += [f"{route}: a sheet with no hash" for s in sheets if hash_of(s) not in named]
            rest = SHEET.sub("", answer.body)
            wrong += [f"{route}: {found}" for found in INLINE.findall(rest)]
    assert not wrong, "\n".join(wrong)


def hash_of(sheet: str) -> str:
    """A style sheet as a policy names it (CSP Level 3, 2.3.1)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(sheet.encode()).digest()).decode()}'"
