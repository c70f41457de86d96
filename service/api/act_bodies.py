"""What callers send with an act; ``version`` is that of the ticket as they saw it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictInt, StrictStr

from service.api.values import Instant

__all__ = [
    "AssignBody",
    "HoldBody",
    "MergeBody",
    "NoDangerBody",
    "PinBody",
    "PlaceBody",
    "RespondByBody",
    "SplitBody",
    "VersionBody",
    "WriteBody",
]

Id = Annotated[StrictStr, Field(min_length=1, max_length=64)]
Reason = Annotated[StrictStr, Field(min_length=1, max_length=2000)]


class VersionBody(BaseModel):
    """The ticket as the caller saw it."""

    model_config = ConfigDict(frozen=True)
    version: StrictInt = Field(ge=1)


class AssignBody(VersionBody):
    """To whom: a login or any name; null for nobody."""

    to: StrictStr | None = Field(max_length=200)


class HoldBody(VersionBody):
    """Until when, and why."""

    until: Instant
    reason: Reason


class RespondByBody(VersionBody):
    """By when, and why."""

    at: Instant
    reason: Reason


class NoDangerBody(VersionBody):
    """Who found that there is no danger, and why; ``heard`` is the newest alert of it that was read."""

    found_by: Literal["fire", "gas", "technician", "tenant", "misread"]
    name: StrictStr = Field(default="", max_length=100)
    reason: Reason
    heard: StrictInt = Field(ge=0)
    still_to_do: StrictBool = False


class MergeBody(VersionBody):
    """The ticket that goes on."""

    into: Id


class SplitBody(VersionBody):
    """The complaints that go."""

    complaints: list[Id] = Field(min_length=1, max_length=500)


class PinBody(VersionBody):
    """The ticket where the complaint belongs."""

    ticket: Id


class PlaceBody(BaseModel):
    """The home that a report is about."""

    model_config = ConfigDict(frozen=True)
    building: Id
    apartment: Id


class WriteBody(BaseModel):
    """What to say."""

    model_config = ConfigDict(frozen=True)
    text: StrictStr = Field(min_length=1, max_length=2000)
