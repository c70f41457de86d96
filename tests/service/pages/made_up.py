"""Invented views for page tests: a house with two loops, in which loop 2's pump has stopped."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from service.auth.roles import Role
from service.auth.who import Who
from service.usecases.rows.act_views import (
    ActLine,
    ComplaintLine,
    ConversationLine,
    ConversationView,
    OtherTicket,
)
from service.usecases.rows.views import (
    AlertLine,
    ApartmentMark,
    BuildingDrawing,
    CheckLine,
    HistoryLine,
    LoadLine,
    QueueRow,
    QueueView,
    Reason,
    SuspectLine,
    TicketView,
    WhyLine,
)
from service.usecases.showing.open_desk import Colleague, DeskTicket
from service.usecases.showing.show_forecast import ForecastHour, ForecastView

# 18:40 in New York (UTC-5 in January).
NOW = datetime(2026, 1, 14, 23, 40, tzinfo=UTC)
ZONE = "America/New_York"
HOSTILE = '<img src=x onerror="alert(1)"> \u202egnp.exe'


def row(ticket: str = "t_7F3K0001", **changes: object) -> QueueRow:
    """One ticket of the queue."""
    values: dict[str, object] = {
        "ticket": ticket,
        "reference": f"T-{ticket[2:6]}",
        "building": "quarry-9",
        "building_name": "9 Quarry Street",
        "timezone": ZONE,
        "danger": False,
        "respond_by": NOW + timedelta(minutes=170),
        "reason": "indoor temperature would pass the legal 62 F",
        "homes": ("2A", "2C", "2D"),
        "kinds": ("too_cold",),
        "first_suspect": "circulator seized",
        "first_component": "pump-2",
        "probability": 0.41,
        "of_fault": 0.26,
        "unknown": 0.12,
        "opened_at": NOW - timedelta(minutes=95),
        "state": "open",
    }
    return QueueRow(**(values | changes))  # type: ignore[arg-type]


def queue() -> QueueView:
    """Three tickets in two buildings, a danger first."""
    gas = row(
        "t_2M9C0001",
        danger=True,
        respond_by=NOW,
        reason="a household smells gas",
        homes=("5B",),
        kinds=("gas_smell",),
        building="mill-22",
        building_name="22 Mill Lane",
        first_suspect=None,
        first_component=None,
        probability=None,
        unknown=1.0,
        opened_at=NOW - timedelta(minutes=4),
    )
    hot = row(
        "t_9QRS0001",
        respond_by=NOW + timedelta(hours=38),
        reason="one home is too hot and nobody in it is at risk",
        homes=("3B",),
        kinds=("too_hot",),
        first_suspect="valve stuck open, end switch made",
        first_component="3B.valve",
        probability=0.66,
        unknown=0.08,
        opened_at=NOW - timedelta(hours=20),
        unconfirmed=("3B",),
    )
    return QueueView(now=NOW, rows=(gas, row(), hot), unread_texts=1, alerts=ALERTS)


ALERTS = (
    AlertLine(
        alert=7,
        what="danger: gas",
        danger=True,
        at=NOW - timedelta(minutes=4),
        since=NOW - timedelta(minutes=14),
        ticket="t_2M9C0001",
        reference="T-2M9C",
        place="5B, 22 Mill Lane",
    ),
    AlertLine(
        alert=5,
        what="sender to be confirmed",
        danger=False,
        at=NOW - timedelta(minutes=50),
        since=NOW - timedelta(minutes=50),
        ticket=None,
        reference="",
    ),
)


def drawing(
    floors: int = 4, lines: str = "ABCD", suspected: str | None = "pump-2", **changes: object
) -> BuildingDrawing:
    """A house whose loop 1 serves the upper half and whose loop 2 serves the lower half."""
    marks = []
    for floor in range(1, floors + 1):
        for line in lines:
            loop = "loop-2" if floor <= floors // 2 else "loop-1"
            state, says, detail = "silent", "silent", ""
            if loop == "loop-2":
                state, says = "predicted", "would be cold too, silent"
            if floor == 2 and line in "ACD":
                state, says, detail = "explained", "reported too cold", "58 F"
            if floor == 3 and line == "B":
                state, says, detail = "elsewhere", "reported too hot, on another ticket", "T-9QRS"
            if floor == 3 and line == "C":
                state, says = "reported", "reported noise"
            if line == lines[-1] and floor == floors:
                state, says = "unreachable", "no phone number on file"
            home = f"{floor}{line}"
            marks.append(ApartmentMark(home, floor, line, loop, "xf-1", state, says, detail))
    values: dict[str, object] = {
        "building": "quarry-9",
        "name": "9 Quarry Street",
        "apartments": tuple(marks),
        "loops": (
            ("loop-1", "pump-1", "relay-1", "boiler-1"),
            ("loop-2", "pump-2", "relay-2", "boiler-1"),
        ),
        "transformers": ("xf-1",),
        "sources": ("boiler-1",),
        "suspected": suspected,
    }
    return BuildingDrawing(**(values | changes))  # type: ignore[arg-type]


SUSPECTS = (
    SuspectLine(
        fault="pump_seized",
        says="circulator seized",
        component="pump-2",
        probability=0.41,
        of_part=0.41,
        explains=("1A", "1B", "1C", "1D", "2A", "2B", "2C", "2D"),
        repair="replace the circulator, purge the loop",
        temporary="a portable heater for the homes with small children",
        caution="120 V at the circulator, hot pipe",
    ),
    SuspectLine(
        fault="relay_contact_open",
        says="relay contact does not close",
        component="relay-2",
        probability=0.29,
        of_part=0.29,
        explains=("1A", "1B", "1C", "1D", "2A", "2B", "2C", "2D"),
        repair="replace the relay",
        temporary="",
        caution="120 V in the relay box",
    ),
    SuspectLine(
        fault="loop_air_bound",
        says="air in the loop",
        component="loop-2",
        probability=0.18,
        of_part=0.18,
        explains=("2A", "2B", "2C", "2D"),
        repair="purge the loop, find out where the air comes from",
        temporary="",
        caution="",
    ),
)

LONG = (
    "0-5 psi; 60-110 F: the low-water cutoff has stopped the boiler; 12-30 psi: the high limit "
    "has tripped; limit code: the burner has locked out or the emergency switch is off or its "
    "breaker has opened; blank: no power; healthy: the fuse of the control circuit or another"
)

CHECKS = (
    CheckLine(
        check="coil_volts",
        component="relay-2",
        do="AC volts across the relay coil",
        healthy="24-28 V AC while one home calls; 0-1 V while nobody calls",
        tells="0 V with a call points at the wiring or the transformer; 24 V clears them",
        minutes=3,
        place="boiler_room",
        before="know whether a thermostat calls",
        caution="120 V in the same box",
        unit="V",
        outcomes=(),
        needs_call_state=True,
    ),
    CheckLine(
        check="pump_volts",
        component="pump-2",
        do="AC volts at the circulator terminals",
        healthy="115-125 V while the relay is pulled in",
        tells="0 V points at the relay contact; 120 V and no flow points at the circulator",
        minutes=3,
        place="boiler_room",
        before="cover off",
        caution="120 V live",
        unit="V",
        outcomes=(),
        needs_call_state=False,
    ),
    CheckLine(
        check="lever_feel",
        component="2A.valve",
        do="Push the manual lever of the zone valve",
        healthy="firm, even spring load over the whole travel",
        tells="limp means the valve is already open",
        minutes=1,
        place="apartment",
        before="none",
        caution="pinch, hot pipe",
        unit=None,
        outcomes=("firm_spring", "limp", "jammed"),
        needs_call_state=False,
    ),
)

WHY = (
    WhyLine("2A reports too cold", "m_1", "pump_seized", 1.3, "it is freezing in here", "en"),
    WhyLine("2C answers: baseboard cold", "m_2", "pump_seized", 2.1, "El radiador está frío", "es"),
    WhyLine("3A, on the other loop, is silent", None, "pump_seized", 0.3),
    WhyLine("the relay was replaced in 2024", None, "relay_contact_open", -0.7),
    WhyLine("2D wrote", "m_3", "loop_air_bound", -1.2, HOSTILE, "en"),
)


def ticket(**changes: object) -> TicketView:
    """The ticket of loop 2, open unless changed."""
    values: dict[str, object] = {
        "row": row(),
        "now": NOW,
        "scope": "loop",
        "component": "loop-2",
        "reasons": (
            Reason(
                "indoor temperature would pass the legal 62 F",
                "an invented heat law",
                NOW + timedelta(minutes=170),
            ),
            Reason("an infant lives in 2C", "common practice", NOW + timedelta(hours=4)),
        ),
        "suspects": SUSPECTS,
        "checks": CHECKS,
        "load": (
            LoadLine("circulator", "circulator, flanged, 1/25 hp", 1, 0.41, 4.0),
            LoadLine("relay", "switching relay, 24 V coil", 1, 0.29, 4.0),
            LoadLine("purge_hose", "purge hose", 2, 0.55, 4.0),
            LoadLine("gasket", "flange gasket", 2, 0.41, 4.0),
        ),
        "tools": ("meter", "clamp meter", "screwdriver"),
        "why": WHY,
        "cautions": ("measure carbon monoxide when you enter the boiler room",),
        "findings": ("coil volts at relay-2, calling: 25.1 V AC (healthy)",),
        "history": (
            HistoryLine(NOW - timedelta(minutes=95), "opened by a text from 2A"),
            HistoryLine(NOW - timedelta(minutes=60), "2C and 2D joined"),
        ),
        "drawing": drawing(),
        "fault_choices": tuple((s.fault, s.component, s.says) for s in SUSPECTS),
        "part_choices": (("circulator", "circulator"), ("relay", "switching relay")),
        "closed_at": None,
        "closed_cause": None,
    }
    return TicketView(**(values | changes))  # type: ignore[arg-type]


def heavy_ticket() -> TicketView:
    """As much as a ticket can hold: seventy homes, five suspects, ten checks, twelve reasons."""
    return ticket(
        suspects=SUSPECTS + SUSPECTS[1:],
        checks=tuple(replace(check, tells=LONG) for check in (CHECKS * 4)[:10]),
        why=tuple(replace(line, message=f"m_{n}") for n, line in enumerate((WHY * 3)[:12])),
        drawing=drawing(floors=10, lines="ABCDEFG"),
        findings=("coil volts at relay-2, calling: 25.1 V (healthy)",) * 4,
    )


WHO = Who("desk-1", Role.DESK, "R. Moreno")
LAYOUTS = {
    "quarry-9": tuple((f"{f}{line}", f, line) for f in (1, 2, 3, 4) for line in "ABCD"),
    "mill-22": tuple((f"{f}{line}", f, line) for f in (4, 5) for line in "AB"),
}


def forecast(**changes: object) -> ForecastView:
    """2C cools from 64 F by a fifth of a degree an hour; the law asks for 68 F by day, 62 F by night."""
    times = [NOW + timedelta(hours=h) for h in range(49)]
    values: dict[str, object] = {
        "apartment": "2C",
        "homes": ("2A", "2C", "2D"),
        "timezone": ZONE,
        "hours": tuple(
            ForecastHour(at, 64 - n / 5, 62.0 if 3 < n % 24 < 12 else 68.0, 20.0 - n / 10)
            for n, at in enumerate(times)
        ),
        "law_steps": ((NOW, 68.0), (NOW + timedelta(hours=3, minutes=20), 62.0)),
        "below_at": NOW + timedelta(hours=12, minutes=20),
        "told_f": 63.0,
        "told_at": NOW - timedelta(minutes=40),
        "law": "an invented heat law",
    }
    return ForecastView(**(values | changes))  # type: ignore[arg-type]


def conversation(apartment: str, complaint: str, **changes: object) -> ConversationView:
    """A household that wrote in Spanish and was asked one thing."""
    at = NOW - timedelta(minutes=90)
    values: dict[str, object] = {
        "complaint": complaint,
        "apartment": apartment,
        "building_name": "9 Quarry Street",
        "timezone": ZONE,
        "ticket": "t_7F3K0001",
        "reference": "T-7F3K",
        "lines": (
            ConversationLine(at, "tenant", "El radiador está frío", "es"),
            ConversationLine(at, "machine", "¿Desde cuándo?", "es"),
            ConversationLine(at, "tenant", HOSTILE, None),
            ConversationLine(
                at, "person", "We are on the way.", None, name="R. Moreno", waits=True
            ),
        ),
        "language": "es",
        "state": "asking",
        "waiting_for": "q_start",
        "waiting_until": NOW + timedelta(minutes=20),
        "taken_over_by": None,
        "is_open": True,
    }
    return ConversationView(**(values | changes))  # type: ignore[arg-type]


COMPLAINTS = tuple(
    ComplaintLine(
        f"c_{home}", home, ("too_cold",), NOW - timedelta(minutes=90), pinned=home == "2D"
    )
    for home in ("2A", "2C", "2D")
)
OTHERS = (OtherTicket("t_9QRS0001", "T-9QRS", ("3B",), "valve stuck open, end switch made"),)
ACTS = (
    ActLine(9, NOW - timedelta(minutes=3), "R. Moreno", "Assigned to A. Okafor", can_undo=True),
    ActLine(
        8,
        NOW - timedelta(minutes=9),
        "Endswitch",
        "2D joined",
        can_undo=False,
        why_not="it was assigned since",
        automatic=True,
    ),
)


def desk_ticket(view: TicketView | None = None, **changes: object) -> DeskTicket:
    """The same ticket as the desk opens it, with three conversations and a forecast."""
    seen = view or ticket(complaints=COMPLAINTS, others=OTHERS, acts=ACTS)
    values: dict[str, object] = {
        "view": seen,
        "stamp": "1-1-1-1-0-3-3-0",
        "conversations": tuple(
            conversation(str(c.apartment), c.complaint, taken_over_by="A. Okafor")
            if c.apartment == "2C"
            else conversation(str(c.apartment), c.complaint)
            for c in seen.complaints
        ),
        "forecast": forecast(),
        "before": "t_2M9C0001",
        "after": "t_9QRS0001",
        "colleagues": (
            Colleague("r.moreno", "R. Moreno", 3, 2),
            Colleague("a.okafor", "A. Okafor"),
        ),
        "endings": {c.complaint: "ends in 42" for c in seen.complaints},
    }
    return DeskTicket(**(values | changes))  # type: ignore[arg-type]


def many_rows(count: int = 500) -> QueueView:
    """A terrible night: as many open tickets as anybody has promised to bear."""
    rows = tuple(
        row(
            f"t_{n:04d}0001",
            respond_by=NOW + timedelta(minutes=n),
            homes=(f"{n % 4 + 1}A", f"{n % 4 + 1}B"),
            assigned_to="A. Okafor" if n % 3 else None,
            held_until=NOW + timedelta(days=1) if n % 50 == 7 else None,
            hold_reason="Waits for a part" if n % 50 == 7 else None,
        )
        for n in range(count)
    )
    return QueueView(NOW, rows, 0)
