"""The moves of the conversation: each takes what is remembered and known, and gives one step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from rules.asking import changing, endings, exchange, opening, waiting
from rules.asking.turns import Conversation, Situation, Step

__all__ = ["MOVES", "Move"]

Move = Callable[[Conversation, Situation], Step]

MOVES: Mapping[str, Move] = MappingProxyType(
    {
        "begin": opening.begin,
        "placed": opening.placed,
        "place_on": opening.place_on,
        "chosen": opening.chosen,
        "home_on": opening.home_on,
        "prompt": opening.prompt,
        "aside": opening.aside,
        "named": opening.named,
        "unnamed": opening.unnamed,
        "answered": exchange.answered,
        "detail": exchange.detail,
        "again": exchange.again,
        "tried": waiting.tried,
        "wait": waiting.wait,
        "wait_on": waiting.wait_on,
        "check": waiting.check,
        "remind": exchange.remind,
        "more": exchange.more,
        "late": changing.late,
        "unclear": exchange.unclear,
        "resume": changing.resume,
        "news": changing.news,
        "puzzled": changing.puzzled,
        "agreed": changing.agreed,
        "told": changing.told,
        "back": changing.back,
        "code": changing.code,
        "repair": exchange.repaired,
        "judged": exchange.judged,
        "reopen": exchange.reopen,
        "status": endings.status,
        "well": changing.well,
        "welcome": endings.welcome,
        "plead": endings.plead,
        "noted": endings.noted,
        "kept": changing.kept,
        "dust": changing.dust,
        "slip": endings.slip,
        "another": endings.another,
        "moved": endings.moved,
        "cancel": endings.cancel,
        "person": endings.person,
        "relay": endings.relay,
        "heed": changing.heed,
        "stop": endings.stop,
        "start": endings.start,
        "help": endings.explain,
        "speak": endings.speak,
        "lapse": endings.lapse,
        "quiet": endings.quiet,
        "mute": endings.mute,
        "mute_end": endings.mute_end,
        "tongue": endings.mute_tongue,
    }
)
