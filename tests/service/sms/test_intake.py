"""The SMTP door over real sockets on loopback."""

from __future__ import annotations

import smtplib
import threading
from collections.abc import Callable

import pytest
from smtp_wire import ADDRESS, StartIntake, Wire

from service.sms.intake import Intake, Limits

NUMBER = "2125550123@sms.example"
MAIL = b"Message-ID: <1@sms.example>\r\n\r\nNo heat in 4B\r\n"
Connect = Callable[[int], Wire]


class Kept:
    """Remembers what it was given; fails while ``broken``."""

    def __init__(self) -> None:
        self.mails: list[tuple[str, tuple[str, ...], bytes]] = []
        self.threads: set[str] = set()
        self.broken = False

    def __call__(self, sender: str, recipients: tuple[str, ...], raw: bytes) -> None:
        """Keep a mail."""
        self.threads.add(threading.current_thread().name)
        if self.broken:
            raise RuntimeError("secret path /srv/db")
        self.mails.append((sender, recipients, raw))


def test_a_text_is_stored_before_it_is_acknowledged(start_intake: StartIntake) -> None:
    """When the client has its 250, the raw bytes are kept and the inbox was woken."""
    kept, woken = Kept(), []
    intake = start_intake(kept, wake=lambda: woken.append(len(kept.mails)))
    with smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as client:
        client.sendmail(NUMBER, [ADDRESS], MAIL)
        assert kept.mails == [(NUMBER, (ADDRESS,), MAIL)]
        assert woken == [1]


def test_a_failing_store_is_a_451_and_the_next_text_works(start_intake: StartIntake) -> None:
    """The sender is told to try again, learns nothing of the reason, and can on the same line."""
    kept = Kept()
    intake = start_intake(kept)
    with smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as client:
        kept.broken = True
        with pytest.raises(smtplib.SMTPDataError) as refused:
            client.sendmail(NUMBER, [ADDRESS], MAIL)
        assert refused.value.smtp_code == 451
        assert refused.value.smtp_error.startswith(b"4.3.0 ")
        assert b"secret" not in refused.value.smtp_error
        kept.broken = False
        client.sendmail(NUMBER, [ADDRESS], MAIL)
    assert len(kept.mails) == 1


def test_a_wake_that_fails_does_not_unstore(start_intake: StartIntake) -> None:
    """The text is stored, so the answer is 250 whatever happens next."""
    kept = Kept()

    def broken() -> None:
        raise RuntimeError("no scheduler")

    intake = start_intake(kept, wake=broken)
    with smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as client:
        assert client.sendmail(NUMBER, [ADDRESS], MAIL) == {}


def test_one_slow_store_does_not_hold_up_other_connections(
    start_intake: StartIntake, wire: Connect
) -> None:
    """While one text waits for the disk, another client is greeted and answered."""
    going, may_go = threading.Event(), threading.Event()

    def slow(_sender: str, _recipients: tuple[str, ...], _raw: bytes) -> None:
        going.set()
        may_go.wait(10)

    intake = start_intake(slow)
    waiting = wire(intake.port)
    waiting.until_data()
    waiting.send(MAIL + b".\r\n")
    assert going.wait(10)
    other = wire(intake.port)
    assert other.answer().startswith(b"220")
    assert other.say(b"NOOP").startswith(b"250")
    may_go.set()
    assert waiting.answer().startswith(b"250")


def test_all_texts_are_stored_by_one_thread(start_intake: StartIntake) -> None:
    """Eight clients at once, one writer, nothing lost."""
    kept = Kept()
    intake = start_intake(kept)
    together = threading.Barrier(8)

    def send(client: int) -> None:
        with smtplib.SMTP("127.0.0.1", intake.port, timeout=10) as connection:
            together.wait()
            for n in range(5):
                connection.sendmail(NUMBER, [ADDRESS], f"\r\n{client}-{n}\r\n")

    threads = [threading.Thread(target=send, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    expected = {f"\r\n{client}-{n}\r\n".encode() for client in range(8) for n in range(5)}
    assert {raw for _, _, raw in kept.mails} == expected
    assert len(kept.threads) == 1


def test_other_recipients_are_refused(start_intake: StartIntake, wire: Connect) -> None:
    """Only the intake address takes mail; capitals do not matter."""
    connection = wire(start_intake(Kept()).port)
    connection.answer()
    connection.say(b"EHLO client.example")
    connection.say(b"MAIL FROM:<2125550123@sms.example>")
    assert connection.say(b"RCPT TO:<anna@endswitch.example>").startswith(b"550 5.1.1")
    assert connection.say(b"RCPT TO:<Intake@Endswitch.Example>").startswith(b"250")


def test_recipients_are_capped(start_intake: StartIntake, wire: Connect) -> None:
    """The sixth recipient is too many."""
    connection = wire(start_intake(Kept()).port)
    connection.answer()
    connection.say(b"EHLO client.example")
    connection.say(b"MAIL FROM:<2125550123@sms.example>")
    answers = [connection.say(b"RCPT TO:<" + ADDRESS.encode() + b">")[:3] for _ in range(7)]
    assert answers == [b"250"] * 5 + [b"452"] * 2


def test_connections_are_capped_and_come_free_again(
    start_intake: StartIntake, wire: Connect
) -> None:
    """Of sixty connections fifty are greeted; when one leaves, another may come."""
    intake = start_intake(Kept())
    connections = [wire(intake.port) for _ in range(60)]
    greetings = [connection.answer()[:3] for connection in connections]
    assert sorted(greetings) == [b"220"] * 50 + [b"421"] * 10
    leaving = connections[greetings.index(b"220")]
    assert leaving.say(b"QUIT").startswith(b"221")
    assert leaving.answer() == b""
    assert wire(intake.port).answer().startswith(b"220")


def test_a_connection_ends_however_busy_it_looks(start_intake: StartIntake, wire: Connect) -> None:
    """Commands do not prolong a connection's life."""
    connection = wire(start_intake(Kept(), limits=Limits(lifetime_seconds=0.2)).port)
    assert connection.answer().startswith(b"220")
    assert connection.say(b"NOOP").startswith(b"250")
    assert connection.answer().startswith(b"421")
    assert connection.answer() == b""


def test_noops_run_out(start_intake: StartIntake, wire: Connect) -> None:
    """Keeping a connection busy with nothing is answered with goodbye."""
    connection = wire(start_intake(Kept()).port)
    connection.answer()
    answers = [connection.say(b"NOOP")[:3] for _ in range(21)]
    assert answers == [b"250"] * 20 + [b"421"]


@pytest.mark.parametrize("ending", [b"\n.\n", b"\n.\r\n", b"\r.\r", b"\r\n.\n", b"\r.\r\n"])
def test_smuggled_endings_make_one_message(
    start_intake: StartIntake, wire: Connect, ending: bytes
) -> None:
    """Only CR LF . CR LF ends a message (RFC 5321 section 4.1.1.4)."""
    kept = Kept()
    connection = wire(start_intake(kept).port)
    connection.until_data()
    second = (
        b"MAIL FROM:<2125550199@sms.example>\r\nRCPT TO:<" + ADDRESS.encode() + b">\r\nDATA\r\n"
    )
    connection.send(b"\r\nhello" + ending + second + b"smuggled\r\n.\r\n")
    assert connection.answer().startswith(b"250")
    assert connection.say(b"NOOP").startswith(b"250")
    assert [sender for sender, _, _ in kept.mails] == [NUMBER]


def test_too_large_is_refused_both_ways_and_the_line_stays_open(
    start_intake: StartIntake, wire: Connect
) -> None:
    """A declared size over 300 KB and an undeclared one are both 552."""
    kept = Kept()
    connection = wire(start_intake(kept).port)
    connection.answer()
    connection.say(b"EHLO client.example")
    declared = connection.say(b"MAIL FROM:<2125550123@sms.example> SIZE=10000000")
    assert declared.startswith(b"552")
    connection.say(b"MAIL FROM:<2125550123@sms.example> SIZE=10")
    connection.say(b"RCPT TO:<" + ADDRESS.encode() + b">")
    connection.say(b"DATA")
    connection.send((b"x" * 98 + b"\r\n") * 4000)
    assert connection.say(b".").startswith(b"552")
    assert connection.say(b"NOOP").startswith(b"250")
    assert kept.mails == []


def test_an_endless_line_ends_the_connection(start_intake: StartIntake, wire: Connect) -> None:
    """A megabyte without a line end is nobody's text."""
    connection = wire(start_intake(Kept()).port)
    connection.until_data()
    with pytest.raises(OSError):  # noqa: PT011 - reset or broken pipe, as the system likes
        connection.send(b"x" * 100_000_000)


@pytest.mark.parametrize(
    "command",
    [
        b"MAIL FROM:<" + b"(" * 480 + b">",
        b"MAIL FROM:<" + b'"' * 480 + b">",
        b"MAIL FROM:<\xff\xfe@sms.example>",
        b"MAIL FROM:" + b"<" * 480,
        b"X" * 2000,
        b"STARTTLS",
        b"PROXY TCP4 1.2.3.4 1.2.3.4 1 1",
        b"AUTH PLAIN AAAA",
    ],
)
def test_odd_commands_leave_the_connection_usable(
    start_intake: StartIntake, wire: Connect, command: bytes
) -> None:
    """Whatever is said, the next honest command is answered."""
    connection = wire(start_intake(Kept()).port)
    connection.answer()
    connection.say(b"EHLO client.example")
    assert connection.say(command)[:1] in {b"2", b"4", b"5"}
    assert connection.say(b"RSET").startswith(b"250")


def test_bounces_have_no_sender_and_are_taken(start_intake: StartIntake, wire: Connect) -> None:
    """MAIL FROM:<> is a bounce; it is kept so that somebody can look."""
    kept = Kept()
    connection = wire(start_intake(kept).port)
    connection.until_data(sender=b"")
    assert connection.say(b"\r\nundeliverable\r\n.").startswith(b"250")
    assert len(kept.mails) == 1


def test_stopping_finishes_the_text_in_hand(start_intake: StartIntake, wire: Connect) -> None:
    """A text that is being stored gets its 250; an idle connection gets 421; no thread is left."""
    going, may_go = threading.Event(), threading.Event()

    def slow(_sender: str, _recipients: tuple[str, ...], _raw: bytes) -> None:
        going.set()
        may_go.wait(10)

    intake = start_intake(slow)
    idle, busy = wire(intake.port), wire(intake.port)
    assert idle.answer().startswith(b"220")
    busy.until_data()
    busy.send(MAIL + b".\r\n")
    assert going.wait(10)
    stopping = threading.Thread(target=intake.stop)
    stopping.start()
    assert idle.answer().startswith(b"421")
    may_go.set()
    assert busy.answer().startswith(b"250")
    stopping.join(10)
    names = {thread.name for thread in threading.enumerate()}
    assert not any(name.startswith(("endswitch-smtp", "endswitch-store")) for name in names)


def test_a_port_in_use_is_an_error_at_start(start_intake: StartIntake) -> None:
    """Starting on a taken port raises in the caller and leaves no thread behind."""
    taken = start_intake(Kept()).port
    second = Intake(address=ADDRESS, store=Kept(), wake=lambda: None, port=taken)
    with pytest.raises(OSError, match="address already in use"):
        second.start()
    second.stop()
