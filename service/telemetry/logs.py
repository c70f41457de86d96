"""One way of logging for our own lines and those of the libraries: to standard error, redacted."""

from __future__ import annotations

import logging
import sys
import traceback
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any, Literal, TextIO

import structlog
from structlog.typing import Processor

from service.telemetry.redaction import redact

__all__ = ["setup_logging", "where"]

CAUSES_MOST = 4
FRAMES_MOST = 12
# Libraries that log addresses, paths with secrets, or a line for every tick.
_QUIET = {
    "mail.log": logging.ERROR,
    "uvicorn.access": logging.CRITICAL,
    "apscheduler": logging.ERROR,
    "sqlalchemy": logging.WARNING,
}


def setup_logging(
    form: Literal["json", "console"] = "json",
    stream: TextIO | None = None,
    level: int = logging.INFO,
) -> None:
    """Send all log lines to ``stream`` (standard error) in one form."""
    shared: list[Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.stdlib.PositionalArgumentsFormatter(),
        _trace,
        redact,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
    ]
    ending: Processor = (
        structlog.processors.JSONRenderer()
        if form == "json"
        else structlog.dev.ConsoleRenderer(colors=False)
    )
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, ending],
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level)
    for name, quiet in _QUIET.items():
        logging.getLogger(name).setLevel(quiet)
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=False,
    )


def _trace(
    _logger: object, _method: str, event: MutableMapping[str, Any]
) -> MutableMapping[str, Any]:
    """The processor that turns an exception into types and places, never its words.

    A database error quotes the values of its statement, and those are a tenant's text and number.
    """
    given = event.pop("exc_info", None)
    error = given[1] if isinstance(given, tuple) else given
    if error is True:
        error = sys.exc_info()[1]
    told: list[str] = []
    while isinstance(error, BaseException) and len(told) < CAUSES_MOST:
        frames = traceback.extract_tb(error.__traceback__)[-FRAMES_MOST:]
        places = (f"{Path(one.filename).name}:{one.lineno} {one.name}" for one in frames)
        told.append(f"{type(error).__name__}: " + " > ".join(places))
        error = error.__cause__ or error.__context__
    if told:
        event["exception"] = told
    return event


def where(error: BaseException) -> str:
    """What went wrong and where, without the error's words, which may quote a tenant."""
    frames = traceback.extract_tb(error.__traceback__)
    if not frames:
        return type(error).__name__
    last = frames[-1]
    return f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}"
