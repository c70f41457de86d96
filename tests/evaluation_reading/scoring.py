"""The figures: for each label, and each of its values, how often it was found and how often right."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rules.model import TopicId
from rules.reading import Reading, read

from .labelled import LABELS, Labelled, load_messages, values_of

__all__ = ["TARGETS", "LabelScore", "Miss", "PartScore", "ReadingReport", "evaluate_reading"]

Reader = Callable[[str, TopicId | None], Reading]

# What the reader is held to on messages it was not tuned on.
TARGETS = {
    "danger": ("recall", 1.0),
    "kinds": ("f1", 0.95),
    "intent": ("accuracy", 0.93),
    "room_temp": ("accuracy", 0.97),
    "setpoint": ("accuracy", 0.97),
}
MOST_FALSE_ALARMS = 0.05


@dataclass(frozen=True)
class LabelScore:
    """One label (``value`` is None) or one of its values over all messages of a part."""

    label: str
    value: str | None
    right: int
    said: int
    wanted: int
    agreed: int
    messages: int

    @property
    def precision(self) -> float:
        """Of what was read, the share that is right; nothing read is nothing wrong."""
        return self.right / self.said if self.said else 1.0

    @property
    def recall(self) -> float:
        """Of what should be read, the share that was."""
        return self.right / self.wanted if self.wanted else 1.0

    @property
    def f1(self) -> float:
        """The harmonic mean of precision and recall."""
        return 2 * self.right / (self.said + self.wanted) if self.said + self.wanted else 1.0

    @property
    def accuracy(self) -> float:
        """The share of messages for which everything about this label agrees."""
        return self.agreed / self.messages if self.messages else 1.0

    @property
    def false_alarms(self) -> float:
        """Of the messages without it, the share where it was read all the same."""
        without = self.messages - self.wanted
        return (self.said - self.right) / without if without else 0.0


@dataclass(frozen=True)
class Miss:
    """One label of one message that was read differently."""

    message: str
    text: str
    label: str
    wanted: frozenset[str]
    read: frozenset[str]


@dataclass(frozen=True)
class PartScore:
    """One file of messages."""

    name: str
    messages: int
    scores: tuple[LabelScore, ...]
    misses: tuple[Miss, ...]

    def score(self, label: str, value: str | None = None) -> LabelScore:
        """The figures of one label, or of one of its values."""
        return next(s for s in self.scores if s.label == label and s.value == value)

    @property
    def is_for_scoring(self) -> bool:
        """Whether the file is for scoring and not for tuning."""
        return self.name.startswith("scoring")

    @property
    def short_of(self) -> tuple[str, ...]:
        """Labels that do not reach their target here."""
        short = [
            label
            for label, (figure, target) in TARGETS.items()
            if getattr(self.score(label), figure) < target
        ]
        if self.score("danger").false_alarms > MOST_FALSE_ALARMS and "danger" not in short:
            short.append("danger")
        return tuple(short)


@dataclass(frozen=True)
class ReadingReport:
    """All parts of a folder."""

    parts: tuple[PartScore, ...]

    def part(self, name: str) -> PartScore:
        """One part by the name of its file."""
        return next(part for part in self.parts if part.name == name)


def evaluate_reading(folder: Path, reader: Reader = read) -> ReadingReport:
    """Read every ``*.jsonl`` of a folder and compare with its labels."""
    return ReadingReport(
        tuple(_part(path.stem, load_messages(path), reader) for path in _files(folder))
    )


def _files(folder: Path) -> list[Path]:
    files = sorted(folder.glob("*.jsonl"))
    if not files:
        raise FileNotFoundError(f"no labelled messages in {folder}")
    return files


def _part(name: str, messages: Sequence[Labelled], reader: Reader) -> PartScore:
    readings = [values_of(reader(message.text, message.asked)) for message in messages]
    scores: list[LabelScore] = []
    misses: list[Miss] = []
    for label in LABELS:
        pairs = [(m.values[label], r[label]) for m, r in zip(messages, readings, strict=True)]
        scores += _scores(label, pairs)
        misses += [
            Miss(m.name, m.text, label, wanted, got)
            for m, (wanted, got) in zip(messages, pairs, strict=True)
            if wanted != got
        ]
    return PartScore(name, len(messages), tuple(scores), tuple(misses))


def _scores(
    label: str, pairs: Sequence[tuple[frozenset[str], frozenset[str]]]
) -> Iterable[LabelScore]:
    yield _score(label, None, pairs)
    values = sorted({value for wanted, got in pairs for value in wanted | got})
    # A temperature is a number of its own each time; its values say nothing one by one.
    if label in {"room_temp", "setpoint", "danger"}:
        return
    for value in values:
        only = frozenset({value})
        yield _score(label, value, [(wanted & only, got & only) for wanted, got in pairs])


def _score(
    label: str, value: str | None, pairs: Sequence[tuple[frozenset[str], frozenset[str]]]
) -> LabelScore:
    return LabelScore(
        label=label,
        value=value,
        right=sum(len(wanted & got) for wanted, got in pairs),
        said=sum(len(got) for _, got in pairs),
        wanted=sum(len(wanted) for wanted, _ in pairs),
        agreed=sum(wanted == got for wanted, got in pairs),
        messages=len(pairs),
    )
