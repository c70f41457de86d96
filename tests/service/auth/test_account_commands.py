"""``endswitch account`` and ``endswitch audit``."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

from terminal import endswitch


def test_a_token_is_ended_by_its_number(tmp_path: Path) -> None:
    """Nobody needs to have it at hand; what is listed lets nobody in; both are noted."""
    made = [endswitch(tmp_path, "token", "--role", role) for role in ("desk", "truck")]
    assert "endswitch token --revoke 2" in made[1].stderr
    ended = endswitch(tmp_path, "token", "--revoke", "2")
    assert (ended.exit_code, ended.stdout) == (0, "")
    again = endswitch(tmp_path, "token", "--revoke", "2")
    assert again.exit_code == 1
    assert "no token 2" in again.stderr
    listed = endswitch(tmp_path, "token", "--list").stdout.splitlines()
    assert [line.split("\t")[:2] for line in listed] == [["1", "desk"], ["2", "truck"]]
    assert ["in use" in line for line in listed] == [True, False]
    assert not any(one.stdout.strip() in "\n".join(listed) for one in made)
    assert endswitch(tmp_path, "token").exit_code == 78
    db = sqlite3.connect(tmp_path / "endswitch.db")
    kept = db.execute("SELECT act, subject FROM audit_log ORDER BY seq").fetchall()
    db.close()
    assert kept[-1] == ("token ended", "token:truck:2")


def test_the_first_admin_and_the_log_of_it(tmp_path: Path) -> None:
    """A link is all that is printed; the chain is checked; a changed or cut-off row exits 1."""
    added = endswitch(
        tmp_path, "account", "add", "--login", "boss", "--name", "B. Adeyemi", "--role", "admin"
    )
    assert added.exit_code == 0, added.stderr
    link = re.fullmatch(r"http://127\.0\.0\.1:8025/choose-password/([\w-]{43})\n", added.stdout)
    assert link is not None
    again = endswitch(
        tmp_path, "account", "add", "--login", "boss", "--name", "B", "--role", "desk"
    )
    assert (again.exit_code, again.stdout) == (1, "")
    assert "already" in again.stderr
    token = endswitch(tmp_path, "token", "--role", "desk").stdout.strip()
    reset = endswitch(tmp_path, "account", "reset", "--login", "boss")
    assert reset.stdout != added.stdout

    good = endswitch(tmp_path, "audit", "verify")
    found = re.fullmatch(r"3 rows, head ([0-9a-f]{64})\n", good.stdout)
    assert found is not None, good.stderr
    head = found[1]
    assert endswitch(tmp_path, "audit", "verify", "--head", head).exit_code == 0

    db = sqlite3.connect(tmp_path / "endswitch.db")
    kept = db.execute("SELECT account, act, subject, details FROM audit_log").fetchall()
    assert [row[:3] for row in kept] == [
        ("command line", "account added", "boss"),
        ("command line", "token made", "token:desk:1"),
        ("command line", "password reset", "boss"),
    ]
    assert link[1] not in str(kept)
    assert token not in str(kept)
    db.execute("DROP TRIGGER audit_log_no_delete")
    db.execute("DELETE FROM audit_log WHERE seq = 3")
    db.commit()
    assert endswitch(tmp_path, "audit", "verify").exit_code == 0
    cut = endswitch(tmp_path, "audit", "verify", "--head", head)
    assert (cut.exit_code, cut.stdout) == (1, "")
    assert head in cut.stderr
    db.execute("DROP TRIGGER audit_log_no_update")
    db.execute("UPDATE audit_log SET account = 'x' WHERE seq = 2")
    db.commit()
    db.close()
    changed = endswitch(tmp_path, "audit", "verify")
    assert changed.exit_code == 1
    assert "row 2 is not as it was written" in changed.stderr
