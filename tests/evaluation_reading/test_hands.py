"""Every file of messages has a hand, but for those that nothing learns from."""

from __future__ import annotations

from .hands import FIRST_READ, HANDS, MESSAGES, counts_of, rows_of
from .labelled import UNSEEN


def test_every_file_is_of_one_hand_and_the_unseen_ones_of_none() -> None:
    """A new file is not forgotten, and what is for scoring only is not learned from."""
    learned = [name for names in HANDS.values() for name in names]
    on_file = {path.stem for path in MESSAGES.glob("*.jsonl")}
    assert sorted(learned) == sorted(on_file - UNSEEN)
    assert on_file >= UNSEEN
    assert not UNSEEN & set(learned)


def test_hands_that_rules_were_mended_for_count_less() -> None:
    """Rules look better on them than on a stranger's messages."""
    assert {counts_of(hand) for hand in FIRST_READ} == {1.0}
    assert all(counts_of(hand) < 1 for hand in HANDS.keys() - set(FIRST_READ))
    assert all(len(rows_of(hand)) >= 300 for hand in HANDS)
