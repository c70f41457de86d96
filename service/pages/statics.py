"""The few static files, read once; an address carries its content's hash and never goes stale."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from fastapi import APIRouter, Response
from markupsafe import Markup

__all__ = ["Asset", "asset_url", "assets", "inline_style", "inline_style_source", "router"]

_TYPES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
}


# Style sheets share their tokens; taken in here, so that a page on a slow phone loads one file.
_IMPORT = re.compile(rb'@import "([a-z]+\.css)";')


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file as it is sent."""

    body: bytes
    media_type: str
    digest: str


@cache
def assets() -> dict[str, Asset]:
    """Every static file by name, from each door's folder.

    The set is fixed, so no request can reach another file.
    """
    doors = [door.joinpath("static") for door in files("service.pages").iterdir()]
    entries = [entry for folder in doors if folder.is_dir() for entry in folder.iterdir()]
    bodies = {entry.name: entry.read_bytes() for entry in entries}
    found: dict[str, Asset] = {}
    for name, raw in bodies.items():
        media_type = _TYPES.get(name.rpartition(".")[2])
        if media_type:
            body = _IMPORT.sub(lambda wanted: bodies[wanted[1].decode()], raw)
            found[name] = Asset(body, media_type, hashlib.sha256(body).hexdigest()[:16])
    return found


def asset_url(name: str) -> str:
    """The address of a static file, with its hash."""
    return f"/static/{assets()[name].digest}/{name}"


def inline_style(name: str) -> Markup:
    """A style sheet inside the page: over a poor link, a file of its own costs a round trip."""
    return Markup("<style>{}</style>").format(Markup(assets()[name].body.decode()))  # noqa: S704


def inline_style_source(name: str) -> str:
    """What a content policy calls this sheet by when it stands inside a page (CSP 3, 2.3.1)."""
    digest = hashlib.sha256(assets()[name].body).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


router = APIRouter(include_in_schema=False)


@router.get("/static/{digest}/{name}")
def static_file(digest: str, name: str) -> Response:
    """Send a file; a stale hash is answered with 404 rather than with other content."""
    asset = assets().get(name)
    if asset is None or asset.digest != digest:
        return Response("not found", status_code=404, media_type="text/plain")
    return Response(
        asset.body,
        media_type=asset.media_type,
        headers={"Cache-Control": "public, max-age=31536000, immutable"},
    )
