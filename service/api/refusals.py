"""What OpenAPI says about answers that refuse: each a problem document of RFC 9457."""

from __future__ import annotations

from typing import Any

from service.api.problems import MEDIA_TYPE

__all__ = ["REFUSALS"]

_TEXT = {"type": "string"}
_PROBLEM = {
    "type": "object",
    "required": ["type", "title", "status", "code", "detail"],
    "properties": {
        "type": {"type": "string", "format": "uri"},
        "title": _TEXT,
        "status": {"type": "integer"},
        "code": _TEXT,
        "detail": _TEXT,
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "detail"],
                # A JSON pointer (RFC 6901) into the body, the path or the query.
                "properties": {"pointer": _TEXT, "detail": _TEXT},
            },
        },
    },
}
_SAYS = {
    401: "no token, or an unknown one",
    403: "the token is for something else",
    404: "what the path names is not there",
    409: "it no longer fits: closed, changed by somebody else, or a clock moved backwards",
    413: "the body is too large",
    422: "what was sent is refused, with everything that is wrong",
    503: "nothing was stored: try again later",
}
REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"description": says, "content": {MEDIA_TYPE: {"schema": _PROBLEM}}}
    for status, says in _SAYS.items()
}
