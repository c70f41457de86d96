"""The files that make the truck's pages work without signal: modules and service worker.

The service worker is served from ``/truck/worker.js`` for the scope ``/truck``; it begins with the list
of files to keep, so that a new file is a new worker.
"""

from __future__ import annotations

import hashlib
import json

from fastapi import APIRouter, Request, Response

from service.pages.rendering import render
from service.pages.statics import asset_url
from service.pages.truck.modules import module_body, module_names, modules_digest, shell_url

__all__ = ["router"]

_SCRIPT = "text/javascript; charset=utf-8"
_WITHOUT_SIGNAL = "/truck/without-signal"

router = APIRouter(prefix="/truck", include_in_schema=False)


@router.get("/static/{digest}/{name}")
def module(request: Request, digest: str, name: str) -> Response:
    """Send a module; a stale hash is answered with 404 rather than with other content.

    A service worker asks again for what the page has loaded: it need not be sent twice.
    """
    body = module_body(name)
    if body is None or digest != modules_digest():
        return Response("not found", status_code=404, media_type="text/plain")
    headers = {"Cache-Control": "public, max-age=31536000, immutable", "ETag": f'"{digest}"'}
    if request.headers.get("if-none-match", "").removeprefix("W/") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    return Response(body, media_type=_SCRIPT, headers=headers)


@router.get("/worker.js")
def worker() -> Response:
    """The service worker with the files of this version."""
    shell = [asset_url(name) for name in ("truck.css", "work.css", "mark.svg")]
    shell += [shell_url(name) for name in module_names() if name != "worker.js"]
    shell.append(_WITHOUT_SIGNAL)
    # The page without signal has no hash of its own: its text is part of the version.
    version = hashlib.sha256("\n".join([*shell, _without_signal()]).encode()).hexdigest()[:16]
    lines = [
        f'import {{ work }} from "{shell_url("worker.js")}";',
        f'work("{version}", {json.dumps(shell)});',
        "",
    ]
    headers = {"Service-Worker-Allowed": "/truck", "Cache-Control": "no-cache"}
    return Response("\n".join(lines), media_type=_SCRIPT, headers=headers)


@router.get("/without-signal")
def without_signal() -> Response:
    """What is shown for a page that this phone does not carry; it names nobody and nothing."""
    return Response(_without_signal(), media_type="text/html")


def _without_signal() -> str:
    return render("truck/templates/without_signal.html", door="truck")
