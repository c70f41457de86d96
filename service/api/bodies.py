"""What callers send: read with limits, checked, and described for OpenAPI.

Bodies are parsed here rather than by the framework because the bytes of a text are kept, and because
numbers that are not finite, deep nesting and broken characters get plain answers.
"""

from __future__ import annotations

import json
from typing import Any, TypeVar

from fastapi import Depends, Request
from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    StrictBool,
    StrictInt,
    StrictStr,
    ValidationError,
)

from service.api.values import Day, Instant, Number
from service.errors import InvalidError, PointedError
from service.usecases.rows.printable import printable_json

__all__ = [
    "ClockBody",
    "CloseBody",
    "FindingBody",
    "HourBody",
    "NewsBody",
    "ReadingBody",
    "TextBody",
    "WeatherBody",
    "checked",
    "described",
    "json_body",
    "sent",
]

Model = TypeVar("Model", bound=BaseModel)
MOST_ERRORS = 100
MOST_HOURS = 10_000  # over a year; however widely they are written they fit in the largest body


class _Body(BaseModel):
    model_config = ConfigDict(frozen=True)


class TextBody(_Body):
    """A text as the gateway delivers it."""

    id: StrictStr = Field(min_length=1, max_length=998)
    sender: StrictStr = Field(alias="from", min_length=1, max_length=64)
    to: StrictStr | None = Field(default=None, max_length=320)
    text: StrictStr
    sent_at: Instant | None = None


class ReadingBody(_Body):
    """A text to be read, and what was asked before it."""

    text: StrictStr
    asked: StrictStr | None = Field(default=None, max_length=64)


class HourBody(_Body):
    """The outdoor temperature at one instant."""

    at: Instant
    outdoor_f: Number = Field(ge=-100, le=150)


class WeatherBody(_Body):
    """Observed and forecast hours."""

    hours: list[HourBody] = Field(max_length=MOST_HOURS)


class FindingBody(_Body):
    """A reading with its unit, or an outcome in words."""

    test: StrictStr = Field(max_length=100)
    component: StrictStr = Field(max_length=200)
    value: Number | None = None
    unit: StrictStr | None = Field(default=None, max_length=20)
    calling: StrictBool | None = None
    outcome: StrictStr | None = Field(default=None, max_length=100)


class PartBody(_Body):
    """A part that was fitted."""

    part: StrictStr = Field(max_length=100)
    quantity: StrictInt = Field(default=1, ge=1, le=99)


class CloseBody(_Body):
    """What it was and what was fitted."""

    fault: StrictStr | None = Field(default=None, max_length=100)
    component: StrictStr | None = Field(default=None, max_length=200)
    parts: list[PartBody] = Field(default=[], max_length=50)
    installed: Day = None
    note: StrictStr | None = Field(default=None, max_length=20_000)


class NewsTexts(_Body):
    """The same news in each language."""

    en: StrictStr = Field(min_length=1, max_length=1000)
    es: StrictStr = Field(min_length=1, max_length=1000)


class NewsBody(_Body):
    """What the desk tells many households, and by when they hear again."""

    id: StrictStr = Field(min_length=1, max_length=200)
    texts: NewsTexts
    until: Instant | None = None
    urgent: StrictBool = False


class ClockBody(_Body):
    """The new present."""

    now: Instant


async def json_body(request: Request) -> Any:
    """The body as JSON.

    Raises:
        InvalidError: it is none.
    """
    raw = await request.body()
    try:
        return printable_json(json.loads(raw, parse_constant=_refuse))
    except (ValueError, RecursionError):
        wrong = PointedError("", "the body is not JSON, or holds numbers JSON does not have")
        raise InvalidError("the body cannot be read as JSON", (wrong,)) from None


def checked(model: type[Model], body: object) -> Model:
    """The body as a model.

    Raises:
        InvalidError: with a JSON pointer for each thing that is wrong.
    """
    try:
        return model.model_validate(body)
    except ValidationError as error:
        found = error.errors(include_url=False, include_context=False, include_input=False)
    wrong = [PointedError(_pointer(e["loc"]), _plain(e["msg"])) for e in found[:MOST_ERRORS]]
    raise InvalidError("the body is refused", wrong)


def sent(model: type[Model]) -> Any:
    """A dependency: the body as a model.

    Raises:
        InvalidError: it is no JSON, or with a JSON pointer for each thing that is wrong.
    """

    def check(body: Any = Depends(json_body)) -> Model:
        return checked(model, body)

    return Depends(check)


def described(schema: type[BaseModel] | dict[str, Any]) -> dict[str, Any]:
    """What OpenAPI says about a body that is parsed here."""
    shape = schema if isinstance(schema, dict) else _inlined(schema.model_json_schema())
    content = {"application/json": {"schema": shape}}
    return {"requestBody": {"required": True, "content": content}}


def _inlined(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema with its definitions put where they are used; ours do not nest in themselves."""
    definitions = schema.pop("$defs", {})

    def put(node: Any) -> Any:
        if isinstance(node, dict):
            reference = node.get("$ref")
            if isinstance(reference, str):
                return put(definitions[reference.rpartition("/")[2]])
            return {key: put(value) for key, value in node.items()}
        return [put(item) for item in node] if isinstance(node, list) else node

    found: dict[str, Any] = put(schema)
    return found


def _refuse(constant: str) -> float:
    raise ValueError(f"{constant} is no JSON number")


def _pointer(location: tuple[int | str, ...]) -> str:
    return "".join(f"/{str(step).replace('~', '~0').replace('/', '~1')}" for step in location)


def _plain(message: str) -> str:
    return message.removeprefix("Value error, ")
