"""What is wrong with a file somebody sent, said so that its owner can put it right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rapidfuzz import process
from rapidfuzz.distance import OSA

__all__ = ["MOST_PROBLEMS", "Problem", "Problems", "below", "listed", "nearest"]

MOST_PROBLEMS = 1_000


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong: where (JSON pointer, and line if the file has lines), what, what is right.

    A problem that is not fatal is a warning: the file is taken as it is.
    """

    pointer: str
    line: int | None
    detail: str
    remedy: str
    fatal: bool = True

    @property
    def says(self) -> str:
        """What is wrong and what would be right, as sentences."""
        wrong = self.detail if self.detail.endswith((".", "!", "?")) else f"{self.detail}."
        return f"{wrong} {self.remedy}".strip()


class Problems:
    """Collects problems in any order and gives them back in the order of the file."""

    def __init__(self, lines: Mapping[str, int] | None = None) -> None:
        self._lines = {} if lines is None else lines
        self._found: list[Problem] = []
        self._left_out = 0

    def add(
        self,
        pointer: str,
        detail: str,
        remedy: str,
        *,
        fatal: bool = True,
        line: int | None = None,
    ) -> None:
        """Note one; after a thousand they are only counted, for nobody reads on."""
        if len(self._found) >= MOST_PROBLEMS:
            self._left_out += 1
            return
        where = line if line is not None else self.line_of(pointer)
        # What is quoted from the file may hold anything, and is shown in a terminal.
        says, right = _printable(detail), _printable(remedy)
        self._found.append(Problem(_printable(pointer), where, says, right, fatal))

    @property
    def are_fatal(self) -> bool:
        """Whether any of them forbids taking the file."""
        return self._left_out > 0 or any(problem.fatal for problem in self._found)

    def all(self) -> tuple[Problem, ...]:
        """All of them by line; those of one line in the order they were noted."""
        found = sorted(self._found, key=lambda problem: problem.line or 0)
        if self._left_out:
            detail = f"There are {self._left_out} more problems."
            found.append(
                Problem("", None, detail, "Put right those above and send the file again.")
            )
        return tuple(found)

    def line_of(self, pointer: str) -> int | None:
        """The line of what the pointer names, or of the nearest thing around it that is there."""
        while pointer and pointer not in self._lines:
            pointer = pointer.rpartition("/")[0]
        return self._lines.get(pointer)


def below(pointer: str, key: object) -> str:
    """The JSON pointer of an entry of what ``pointer`` names (RFC 6901 escapes)."""
    return f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"


def _printable(text: str) -> str:
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word somebody most likely meant, if one is near enough."""
    # This distance counts two swapped letters, the commonest slip, as one mistake.
    match = process.extractOne(
        word,
        list(known),
        scorer=OSA.normalized_similarity,
        processor=str.casefold,
        score_cutoff=0.6,
    )
    return match[0] if match else None


def listed(words: Iterable[str]) -> str:
    """Words as people list them: a, b or c."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last
