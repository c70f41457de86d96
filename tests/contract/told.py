"""What is said and what it ends in, each checked for its shape."""

from __future__ import annotations

from typing import Any

from program import Program
from shapes import check_text_answer, check_ticket


def said(program: Program, number: str, words: str) -> dict[str, Any]:
    """A text over HTTP whose answer has the right shape."""
    answer = program.text(number, words)
    check_text_answer(answer)
    return answer


def ticket_of(program: Program, answer: dict[str, Any], role: str = "truck") -> dict[str, Any]:
    """The ticket a text ended in."""
    ticket: dict[str, Any] = program.get(f"/api/v1/tickets/{answer['ticket']}", role)
    check_ticket(ticket)
    return ticket
