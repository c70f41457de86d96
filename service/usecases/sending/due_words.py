"""A time as a tenant says it: in building time, with the day."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

__all__ = ["act_by_words", "due_words"]

FAR_DAYS = 2  # from so many days on nobody needs the hour
DAYS_OF_A_WEEK = 7  # from so many days on the name of a day means an earlier one
MORNING_HOUR = 7
# What is due sooner is told as at once, and minutes in steps: nobody is promised "8:01 am" at 8.
SOON, STEP_MINUTES = timedelta(minutes=15), 5
DAYS_EN = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS_EN = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTHS_ES = (
    *("enero", "febrero", "marzo", "abril", "mayo", "junio"),
    *("julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"),
)
DAYS_ES = ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo")


def due_words(at: datetime, now: datetime, timezone: str, language: str) -> str:
    """Such as "7 pm today" or "hoy a las 7 pm"; empty when the time is already here."""
    if at <= now:
        return ""
    zone = ZoneInfo(timezone)
    local = at.astimezone(zone)
    days = (local.date() - now.astimezone(zone).date()).days
    return _spanish(local, days) if language == "es" else _english(local, days)


def act_by_words(at: datetime, now: datetime, timezone: str, language: str) -> str:
    """By when somebody acts: the full hour until tomorrow, from then on the day is enough.

    What is due before anybody gets up is due the day before; a full hour that is past already is told
    with its minutes, in steps. What is due in some minutes is due at once: empty.
    """
    zone = ZoneInfo(timezone)
    local, today = at.astimezone(zone), now.astimezone(zone).date()
    if at < now + SOON:
        return ""
    if (local.date() - today).days < FAR_DAYS:
        hour = at - timedelta(minutes=local.minute, seconds=local.second)
        step = at - timedelta(minutes=local.minute % STEP_MINUTES, seconds=local.second)
        return due_words(hour if hour > now else step, now, timezone, language)
    day = (local - timedelta(hours=MORNING_HOUR)).date()
    if (day - today).days < FAR_DAYS:
        return "mañana" if language == "es" else "tomorrow"
    if (day - today).days >= DAYS_OF_A_WEEK:
        return _date(day, language)
    return f"el {DAYS_ES[day.weekday()]}" if language == "es" else DAYS_EN[day.weekday()]


def _date(day: date, language: str) -> str:
    if language == "es":
        return f"el {day.day} de {MONTHS_ES[day.month - 1]}"
    return f"{MONTHS_EN[day.month - 1]} {day.day}"


def _english(local: datetime, days: int) -> str:
    near = {0: "today", 1: "tomorrow"}
    if days in near:
        return f"{_clock(local)} {near[days]}"
    return f"{_clock(local)} on {DAYS_EN[local.weekday()]}"


def _spanish(local: datetime, days: int) -> str:
    near = {0: "hoy", 1: "mañana"}
    day = near.get(days) or f"el {DAYS_ES[local.weekday()]}"
    return f"{day} a {'la' if local.hour % 12 == 1 else 'las'} {_clock(local)}"


def _clock(local: datetime) -> str:
    hour = local.hour % 12 or 12
    minutes = f":{local.minute:02d}" if local.minute else ""
    return f"{hour}{minutes} {'am' if local.hour < 12 else 'pm'}"
