"""Which passwords are good enough, and how one is kept."""

from __future__ import annotations

import threading
import time
import unicodedata

import pytest
from argon2 import PasswordHasher

from service.auth import passwords
from service.auth.passwords import check_password, hash_password, wrong_with
from service.errors import TryLaterError

GOOD = "violet kettle on a slow ferry"
KNOWN = ("r.moreno", "Rita Moreno")


# NIST SP 800-63B-4, 3.1.1.2: at least 15 characters where nothing else is asked for, at least 64
# allowed, any Unicode character counts as one, no rules about kinds of characters, refused are common
# ones and words of the account.
@pytest.mark.parametrize(
    ("password", "good"),
    [
        (GOOD, True),
        ("violetkettlefer", True),  # 15, small letters alone
        ("violetkettlefe", False),  # 14
        ("v" + " " * 2 + "iolet kettle", True),
        ("ñandú élève çà là", True),
        ("n\u0303" * 14, False),  # 28 code points, 14 characters: what counts is what is kept
        (GOOD * 2 + "1234567", True),  # 65
        ("many words " * 24, False),  # over 256
        ("passwordpassword", False),
        ("Password 12345678", False),
        ("Summer-Winter-2026", False),
        ("aaaaaaaaaaaaaaaaaaaa", False),
        ("abcabcabcabcabcabc", False),
        ("qwertyuiopasdfghjkl", False),
        ("987654321098765", False),
        ("r.moreno r.moreno 1", False),
        ("Rita Moreno Endswitch", False),
        ("correct horse battery staple", False),
    ],
)
def test_length_counts_and_what_everybody_tries_does_not(password: str, good: bool) -> None:
    """Long is enough, unless it is made of common words, runs, repetitions or the person's name."""
    assert (wrong_with(password, KNOWN) is None) is good


def test_it_is_kept_as_argon2id_with_the_advised_cost() -> None:
    """RFC 9106, 4: 64 MiB, 3 passes, 4 lanes where memory is not plenty."""
    stored = hash_password(GOOD)
    assert stored.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert stored != hash_password(GOOD)  # salted
    assert PasswordHasher().verify(stored, GOOD)  # by the library itself
    assert check_password(stored, GOOD) == passwords.Checked(right=True)
    assert not check_password(stored, GOOD + " ").right
    assert not check_password(stored, GOOD * 12).right  # longer than any that is kept
    assert not check_password("not a hash", GOOD).right
    assert not check_password(None, "nobody has this password").right


def test_the_same_letters_typed_on_another_keyboard_are_the_same() -> None:
    """Composed and decomposed letters (Unicode Annex 15) are one password."""
    word = "el ñandú come maíz"
    stored = hash_password(unicodedata.normalize("NFD", word))
    assert check_password(stored, unicodedata.normalize("NFC", word)).right


def test_an_old_hash_is_made_anew_when_the_password_is_right() -> None:
    """A cheaper hash of former days is replaced at the next sign-in."""
    old = PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1).hash(GOOD)
    checked = check_password(old, GOOD)
    assert checked.right
    assert checked.renewed is not None
    assert "m=65536,t=3,p=4" in checked.renewed
    assert check_password(old, "something else here").renewed is None


def test_an_account_that_is_not_there_takes_as_long() -> None:
    """The least work of three of each: within a factor of two, where none would be a hundredth."""
    stored = hash_password(GOOD)

    def shortest(of: str | None) -> float:
        took = []
        for _ in range(3):
            started = time.process_time()  # work, not time: others use this machine as well
            assert not check_password(of, "not this one, surely").right
            took.append(time.process_time() - started)
        return min(took)

    shortest(None)  # the hash it compares with is made once
    assert 0.5 < shortest(None) / shortest(stored) < 2


def test_many_at_once_wait_and_then_are_told() -> None:
    """Memory for two hashes at a time, however many try."""
    inside, go_on = threading.Barrier(passwords.AT_ONCE + 1), threading.Event()

    def hold() -> None:
        with passwords._turn():
            inside.wait()
            go_on.wait()

    holders = [threading.Thread(target=hold) for _ in range(passwords.AT_ONCE)]
    for holder in holders:
        holder.start()
    inside.wait()
    with pytest.raises(TryLaterError):
        hash_password(GOOD, patience_seconds=0.05)
    go_on.set()
    for holder in holders:
        holder.join()
    assert hash_password(GOOD)
