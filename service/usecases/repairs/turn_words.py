"""Where a turn of a thermostat stands, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from service.store.tables import OutboxMessage, TurnAsk

__all__ = ["Turn", "turn_says"]

SEEN = {
    "moved": "Noted: the valve moved.",
    "not_moved": "Noted: the valve did not move.",
    "unseen": "Ended without a look at the valve.",
}


@dataclass(frozen=True, slots=True)
class Turn:
    """What is known of one turn that was asked for; None what has not happened."""

    ask: TurnAsk
    text: OutboxMessage
    turned_at: datetime | None
    cannot_at: datetime | None
    felt: str | None
    wrote: str | None

    @property
    def down(self) -> bool:
        """Whether the heat was to be turned down."""
        return self.ask.topic.endswith("down")

    @property
    def stroke_ends_at(self) -> datetime | None:
        """When a healthy valve has moved."""
        if self.turned_at is None or not self.ask.stroke_seconds:
            return None
        return self.turned_at + timedelta(seconds=self.ask.stroke_seconds)

    @property
    def question_at(self) -> datetime | None:
        """When the household is asked what the radiator does."""
        if self.ask.question_at is not None or self.turned_at is None:
            return self.ask.question_at
        wait = self.ask.wait_minutes
        return None if wait is None else self.turned_at + timedelta(minutes=wait)


def turn_says(turn: Turn, now: datetime, zone: str, *, page: bool) -> tuple[str, ...]:
    """Where a turn stands, the last thing last."""
    said = [_sent(turn, now, zone, page=page)]
    way = "down" if turn.down else "up"
    if turn.cannot_at is not None:
        said.append(f"They cannot turn it {way} now ({_clock(turn.cannot_at, zone)}).")
    if turn.turned_at is not None:
        said.append(f"They turned it {way} at {_clock(turn.turned_at, zone)}.")
    if turn.stroke_ends_at is not None:
        moved = "shut" if turn.down else "open"
        said.append(
            f"A healthy valve is {moved} by {_clock(turn.stroke_ends_at, zone, seconds=True)}."
        )
    if turn.felt is not None:
        said.append(f"Of the radiator they say: {turn.felt}.")
    elif turn.wrote is not None:
        said.append(f"They wrote: “{turn.wrote}”")
    if turn.ask.seen is not None:
        said.append(SEEN[turn.ask.seen])
    elif turn.felt is None and turn.question_at is not None and turn.ask.ended_at is None:
        said.append(f"At {_clock(turn.question_at, zone)} we ask them how warm the radiator is.")
    return tuple(said)


def _sent(turn: Turn, now: datetime, zone: str, *, page: bool) -> str:
    text = turn.text
    if page:
        return f"On their page since {_clock(text.created_at, zone)}."
    if text.failed_at is not None:
        return "The text did not go out. Call them."
    if text.sent_at is not None:
        heard = (turn.turned_at, turn.cannot_at, turn.felt, turn.wrote, turn.ask.ended_at)
        still = "" if any(heard) else " No answer yet."
        return f"Delivered at {_clock(text.sent_at, zone)}.{still}"
    if text.send_at > now:
        return f"Goes out at {_clock(text.send_at, zone)}."
    return "Being sent."


def _clock(at: datetime, zone: str, *, seconds: bool = False) -> str:
    local = at.astimezone(ZoneInfo(zone))
    half = "am" if local.hour < 12 else "pm"
    exact = f":{local:%S}" if seconds else ""
    return f"{local.hour % 12 or 12}:{local:%M}{exact} {half}"
