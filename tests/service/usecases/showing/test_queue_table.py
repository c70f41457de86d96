"""The queue as a table to take away."""

from __future__ import annotations

import csv
import io

from at_the_desk import act
from repairs.at_work import sign_in
from whole_service import Running, mobile

from service.auth.roles import Role


def queue(service: Running, query: str = "") -> list[dict[str, str]]:
    """The table, a line each."""
    answer = service.call("GET", f"/desk/queue.csv{query}")
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/csv; charset=utf-8; header=present"
    return list(csv.DictReader(io.StringIO(answer.text, newline="")))


def test_the_queue_is_saved_in_its_order_and_computes_nothing(service: Running) -> None:
    """A danger first and without a suspect; a name that begins like a formula is text."""
    cold = service.text(mobile("1A"), "no heat at all, 58 degrees")["ticket"]
    service.text(mobile("4B"), "I smell gas in my kitchen!")
    act(service, cold, "assign", to="=HYPERLINK(1)")
    sign_in(service, Role.DESK)
    danger, other = queue(service)
    assert (danger["danger"], danger["first_suspect"], danger["chance"]) == ("yes", "", "")
    assert float(other["chance"]) >= float(other["chance_of_fault"]) > 0
    assert (other["homes"], other["complaint"]) == ("1A", "too cold")
    assert other["in_hand_of"] == "'=HYPERLINK(1)"
    assert other["first_heard"] == "2026-01-09T19:00:00-05:00"
    assert [row["homes"] for row in queue(service, "?who=-")] == ["4B"]
