"""The conversation as data: what is done in each state about each thing that can happen.

One row per event, one column per state; a cell names a move of ``rules.asking.moves``. Danger in a
text is looked at before this table and overrides it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from rules.asking.turns import Heard, State

__all__ = ["TRANSITIONS"]

_COLUMNS = (
    State.NEW,
    State.PLACE,
    State.WHICH,
    State.WHAT,
    State.ASKING,
    State.WAITING,
    State.READ_BACK,
    State.TOLD,
    State.REPAIRED,
    State.PERSON,
    State.STOPPED,
    State.CLOSED,
)

_GRID = """
complaint    begin   place_on home_on named  detail   wait_on more   more    reopen  heed    mute     resume
answer       prompt  placed  chosen  named   answered tried   agreed more    judged  relay   mute     late
status       status  status  status  status  status   status  status status  news    status  quiet    news
resolved     well    well    well    well    well     well    well   well    well    well    mute_end well
thanks       welcome welcome welcome welcome welcome  wait    told   welcome welcome welcome quiet    welcome
cancel       cancel  cancel  cancel  cancel  cancel   cancel  cancel cancel  cancel  cancel  mute_end cancel
human        person  person  person  person  person   person  person person  person  relay   mute     person
stop         stop    stop    stop    stop    stop     stop    stop   stop    stop    stop    quiet    stop
start        start   start   start   start   start    start   start  start   start   start   start    start
help         help    help    help    help    help     help    help   help    help    help    quiet    help
language     speak   speak   speak   speak   speak    speak   speak  speak   speak   speak   tongue   speak
back         back    back    back    back    back     back    back   back    back    relay   quiet    back
plea         prompt  plead   plead   plead   plead    plead   plead  plead   plead   relay   mute     plead
noted        prompt  noted   noted   noted   noted    wait_on noted  noted  noted   relay   mute     kept
dust         dust    dust    dust    dust    dust     dust    dust   dust    dust    relay   mute     dust
slip         slip    slip    slip    slip    slip     slip    slip   slip    slip    slip    quiet    slip
aside        aside   aside   aside   aside   aside    aside   aside  aside   aside   relay   mute     aside
for_another  another another another another another  another another another another relay  mute     another
moved        moved   moved   moved   moved   moved    moved   moved  moved   moved   relay   mute     moved
code         code    code    code    code    code     code    code   code    code    code    quiet    code
other        prompt  placed  chosen  unnamed again    wait_on again  unclear again   relay   mute     puzzled
unreadable   prompt  placed  chosen  unnamed again    quiet   again  unclear again   relay   mute     puzzled
timer_check  quiet   quiet   quiet   quiet   quiet    check   quiet  quiet   quiet   quiet   quiet    quiet
timer_remind quiet   remind  remind  remind  remind   quiet   quiet  quiet   quiet   quiet   quiet    quiet
timer_close  quiet   lapse   lapse   lapse   lapse    quiet   lapse  lapse   lapse   lapse   quiet    lapse
repair_done  quiet   repair  repair  repair  repair   repair  repair repair  repair  repair  quiet    repair
"""  # noqa: E501 - one row an event


def _parsed(grid: str) -> Mapping[tuple[State, Heard], str]:
    cells: dict[tuple[State, Heard], str] = {}
    for line in grid.strip().splitlines():
        event, *moves = line.split()
        for state, move in zip(_COLUMNS, moves, strict=True):
            cells[state, Heard(event)] = move
    return MappingProxyType(cells)


TRANSITIONS: Mapping[tuple[State, Heard], str] = _parsed(_GRID)
