"""The ear's table, learned from labelled messages: ``python -m tests.evaluation_reading.learn_danger``.

Logistic regression with a quadratic penalty over the clues of ``rules.reading.ear``, by accelerated
gradient steps; the heaviest clues are kept and weighed once more. The bias is set on messages left out
in turn, so that few of the harmless ones in which no sign stands are taken for danger. Nothing is drawn
at random: the same messages give the same table. To be run anew after the tables of danger or the
messages have changed.
"""

from __future__ import annotations

import json
import textwrap
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rules.model import Kind
from rules.reading.danger import hear
from rules.reading.danger_table import danger_table
from rules.reading.ear import Weighing, clues
from rules.reading.folding import fold

from .labelled import UNSEEN

__all__ = ["FALSE_ALARMS", "Lesson", "fitted", "learned", "lesson", "lessons_of", "weighed"]

_ROOT = Path(__file__).parents[2]
_MESSAGES = _ROOT / "fixtures" / "messages"
_TABLE = _ROOT / "rules" / "data" / "danger_ear.yaml"
# The share of harmless messages without any sign that may be taken for danger: a third of them were
# written to sound like one, so that it is some 2 % of everyday messages.
FALSE_ALARMS = 0.04
_PENALTY = 0.1
_STEPS = 500
_SEEN_AT_LEAST = 2
_CLUES_KEPT = 5000
_PARTS = 5
_TENTHS = 10
# Which danger a dangerous message with such a kind tells of; the first that fits.
_KINDS = (
    ({Kind.GAS_SMELL}, "gas"),
    ({Kind.CO_ALARM}, "co"),
    ({Kind.SMOKE}, "fire"),
    ({Kind.LEAK, Kind.ELECTRICAL}, "water_electrics"),
    ({Kind.ELECTRICAL}, "electrical"),
    ({Kind.TOO_COLD}, "hypothermia"),
    ({Kind.LEAK}, "scald"),
    ({Kind.OTHER}, "scald"),
)
_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Lesson:
    """The clues of a message, its concepts, and what it is: a danger, of a kind, told by a sign."""

    clues: frozenset[str]
    concepts: frozenset[str]
    danger: bool
    kind: str | None
    told: bool


def lesson(text: str, *, danger: bool, kinds: Sequence[str] = ()) -> Lesson:
    """What a labelled text teaches; without kinds, the signs in it say what danger it is."""
    heard = hear(fold(text))
    labelled = next((kind for labels, kind in _KINDS if labels <= set(kinds)), None)
    by_sign = heard.told[0].kind if heard.told else None
    return Lesson(
        clues=frozenset(clues(heard.tokens, danger_table().ear.unweighed)),
        concepts=frozenset(heard.tokens.told()),
        danger=danger,
        kind=(labelled or by_sign) if danger else None,
        told=bool(heard.told) or heard.taken_back,
    )


def lessons_of(folder: Path) -> list[Lesson]:
    """All labelled messages of a folder, and its two lists of single lines."""
    return [lesson(text, danger=danger, kinds=kinds) for text, danger, kinds in _labelled(folder)]


def _labelled(folder: Path) -> Iterator[tuple[str, bool, Sequence[str]]]:
    for path in sorted(p for p in folder.glob("*.jsonl") if p.stem != UNSEEN):
        for line in path.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            yield row["text"], row["danger"], row["kinds"]
    for name, danger in (("danger_told", True), ("danger_lookalikes", False)):
        for line in (folder / f"{name}.txt").read_text(encoding="utf-8").splitlines():
            yield line, danger, ()


def learned(lessons: Sequence[Lesson]) -> dict[str, Any]:
    """The weighings of an ear that has heard all lessons: for danger, and for each kind."""
    danger = weighed([x.clues for x in lessons], [x.danger for x in lessons])
    quiet = sorted((s for n in range(_PARTS) for s in _left_out(lessons, n)), reverse=True)
    bias = danger.bias - quiet[int(FALSE_ALARMS * len(quiet))]
    sorted_out = [x for x in lessons if x.kind is not None]
    return {
        "danger": Weighing(danger.weights, round(bias, 1)),
        "kinds": {
            kind: weighed([x.concepts for x in sorted_out], [x.kind == kind for x in sorted_out])
            for kind in danger_table().kinds
        },
    }


def _left_out(lessons: Sequence[Lesson], part: int) -> list[float]:
    """Scores of the harmless messages of one part, by an ear that has not heard that part."""
    heard = [x for n, x in enumerate(lessons) if n % _PARTS != part]
    ear = weighed([x.clues for x in heard], [x.danger for x in heard])
    rest = (x for n, x in enumerate(lessons) if n % _PARTS == part)
    return [ear.score(x.clues) for x in rest if not x.danger and not x.told]


def weighed(told: Sequence[frozenset[str]], right: Sequence[bool]) -> Weighing:
    """The weights of the clues that tell best what is right."""
    seen = Counter(clue for row in told for clue in row)
    known = sorted(clue for clue, times in seen.items() if times >= _SEEN_AT_LEAST)
    weights, _ = fitted(told, right, known)
    order = np.argsort(-np.abs(weights), kind="stable")[:_CLUES_KEPT]
    kept = [known[n] for n in sorted(order)]
    weights, bias = fitted(told, right, kept)
    tenths = (round(float(weight) * _TENTHS) for weight in weights)
    return Weighing(
        {clue: weight for clue, weight in zip(kept, tenths, strict=True) if weight},
        round(bias * _TENTHS, 1),
    )


def fitted(
    told: Sequence[frozenset[str]], right: Sequence[bool], known: Sequence[str]
) -> tuple[_Floats, float]:
    """Weights of the known clues, and the bias, by Nesterov's accelerated gradient."""
    place = {clue: n for n, clue in enumerate(known)}
    rows = [sorted(place[clue] for clue in clues_told & place.keys()) for clues_told in told]
    counts = np.array([len(row) for row in rows])
    row = np.repeat(np.arange(len(rows)), counts)
    column = np.array([n for listed in rows for n in listed], dtype=np.int64)
    value = 1 / np.sqrt(counts[row])
    wanted = np.array(right, dtype=np.float64)
    # What is rarer counts as much, together, as what is frequent.
    share = np.where(wanted > 0, 0.5 / wanted.mean(), 0.5 / (1 - wanted.mean()))
    at = np.zeros(len(known) + 1)
    ahead, pace = at.copy(), 1.0
    # Each row has length one, the bias adds one more, and the logistic curve bends by a quarter.
    step = 1 / (0.25 * 2 * float(share.sum()) + _PENALTY)
    for _ in range(_STEPS):
        score = np.bincount(row, ahead[column] * value, len(rows)) + ahead[-1]
        miss = share * (1 / (1 + np.exp(-score)) - wanted)
        slope = np.append(np.bincount(column, miss[row] * value, len(known)), miss.sum())
        slope[:-1] += _PENALTY * ahead[:-1]
        after = ahead - step * slope
        quicker = (1 + (1 + 4 * pace * pace) ** 0.5) / 2
        ahead = after + (pace - 1) / quicker * (after - at)
        at, pace = after, quicker
    return at[:-1], float(at[-1])


def written(table: Mapping[str, Any]) -> str:
    """The table as YAML: clues by weight, the heaviest first."""
    return "\n".join(
        [
            "# What each clue weighs for danger (above zero) and against it, in tenths. Learned by",
            "# tests/evaluation_reading/learn_danger.py from the labelled messages, not written by",
            "# hand; rules/reading/ear.py says what clues are.",
            "danger:",
            *_block(table["danger"], "  "),
            "# Among dangers, what each concept weighs for a kind.",
            "kinds:",
            *(
                line
                for kind, weighing in table["kinds"].items()
                for line in (f"  {kind}:", *_block(weighing, "    "))
            ),
            "",
        ]
    )


def _block(weighing: Weighing, indent: str) -> Iterator[str]:
    by_weight: dict[int, list[str]] = defaultdict(list)
    for clue, weight in sorted(weighing.weights.items()):
        by_weight[weight].append(clue)
    yield f"{indent}bias: {weighing.bias}"
    yield f"{indent}weights:"
    for weight in sorted(by_weight, reverse=True):
        yield f"{indent}  {weight}: >-"
        listed = ", ".join(by_weight[weight])
        for line in textwrap.wrap(listed, 112, break_long_words=False, break_on_hyphens=False):
            yield f"{indent}    {line}"


if __name__ == "__main__":
    _TABLE.write_text(written(learned(lessons_of(_MESSAGES))), encoding="utf-8")
