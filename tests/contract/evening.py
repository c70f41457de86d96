"""What must be true of every story, whatever was broken; both evenings are judged by it."""

from __future__ import annotations

from night import Played
from program import Program, moment
from shapes import check_reply, check_ticket

MOST_QUESTIONS = 5


def check_conversations(program: Program, played: Played) -> None:
    """Nobody is left without an answer, asked twice, asked too much, or left hanging."""
    assert played.unanswered == []
    for writer in played.story.writers:
        topics = played.asked.get(writer.home, [])
        assert len(topics) == len(set(topics)), (writer.home, topics)
        assert len(topics) <= MOST_QUESTIONS
        ignored = played.ignored.get(writer.home, [])
        assert len(ignored) <= 2, (writer.home, ignored)  # the question and one reminder
        assert len(set(ignored)) <= 1, (writer.home, ignored)
        assert played.heard[writer.home], writer.home
        for text in played.heard[writer.home]:
            check_reply(text)
        if writer.answers:
            assert played.heard[writer.home][-1]["asks"] is None
        (complaint,) = played.complaints[writer.home]
        _is_not_stuck(program, str(complaint))


def _is_not_stuck(program: Program, complaint: str) -> None:
    found = program.get(f"/api/v1/complaints/{complaint}")
    waiting = found["waiting"]
    assert found["ticket"].startswith("t_")
    if waiting is not None and waiting["until"] is not None:
        assert moment(waiting["until"]) > program.now(), waiting


def check_tickets(played: Played) -> None:
    """Everybody who wrote is on a ticket, no home on two, the right component near the top."""
    assert played.shared_homes == []
    for ticket in played.tickets:
        check_ticket(ticket)
        assert ticket["building"] == played.building
    homes = sorted(a for t in played.tickets for a in t["apartments"])
    assert homes == sorted(w.home for w in played.story.writers)
    suspects = [(t["component"], t["suspects"][:3]) for t in played.tickets]
    assert played.component_rank is not None, suspects
    assert played.component_rank <= played.story.among, suspects
