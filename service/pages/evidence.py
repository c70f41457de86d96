"""The evidence of a ticket, each piece once, with every suspect it speaks for or against."""

from __future__ import annotations

from dataclasses import dataclass

from service.usecases.rows.views import SuspectLine, WhyLine

__all__ = ["Piece", "Weighed", "evidence_by_suspect", "first_words", "sorted_evidence"]


_FEWEST_WORDS = 3  # "84" and "ok" answer a question; they tell nothing by themselves
_MOST_TEXTS = 2


@dataclass(frozen=True, slots=True)
class Piece:
    """One fact, its words if it was a message, and what it does to which suspect."""

    says: str
    quote: str | None
    language: str | None
    speaks: tuple[tuple[str, float], ...]  # (fault, weight), all of one sign


@dataclass(frozen=True, slots=True)
class Weighed:
    """A suspect with what speaks for it and against it, the strongest first."""

    suspect: SuspectLine
    speaks_for: tuple[WhyLine, ...]
    speaks_against: tuple[WhyLine, ...]


def evidence_by_suspect(
    why: tuple[WhyLine, ...], suspects: tuple[SuspectLine, ...]
) -> tuple[Weighed, ...]:
    """Each suspect that evidence speaks about, in the order of the suspects."""
    found: dict[str, Weighed] = {}
    for suspect in suspects:
        lines = sorted((w for w in why if w.fault == suspect.fault), key=lambda w: -abs(w.weight))
        if lines and suspect.fault not in found:
            found[suspect.fault] = Weighed(
                suspect,
                tuple(line for line in lines if line.weight >= 0),
                tuple(line for line in lines if line.weight < 0),
            )
    return tuple(found.values())


def sorted_evidence(why: tuple[WhyLine, ...]) -> tuple[tuple[str, tuple[Piece, ...]], ...]:
    """What speaks for and what speaks against, in the order in which it first comes up."""
    return (
        ("For", _pieces([line for line in why if line.weight >= 0])),
        ("Against", _pieces([line for line in why if line.weight < 0])),
    )


def first_words(
    why: tuple[WhyLine, ...], homes: tuple[str, ...]
) -> tuple[tuple[str, str | None], ...]:
    """What these homes wrote, each text once, the ones that speak most first: (text, language).

    Evidence names the home it comes from first; that of homes on other tickets is left out.
    """
    own = [w for w in why if w.says.partition(" ")[0] in homes]
    told = sorted((w for w in own if w.quote), key=lambda w: -abs(w.weight))
    texts = {w.quote: w.language for w in told if w.quote and len(w.quote.split()) >= _FEWEST_WORDS}
    return tuple(texts.items())[:_MOST_TEXTS]


def _pieces(lines: list[WhyLine]) -> tuple[Piece, ...]:
    found: dict[tuple[str, str | None], list[WhyLine]] = {}
    for line in lines:
        found.setdefault((line.says, line.message), []).append(line)
    return tuple(
        Piece(
            says=group[0].says,
            quote=group[0].quote,
            language=group[0].language,
            speaks=tuple((line.fault, line.weight) for line in group),
        )
        for group in found.values()
    )
