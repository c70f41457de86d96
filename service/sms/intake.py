"""The SMTP door: a text is answered with 250 only after it is safely stored.

Theory of operation: the server has a thread and an event loop of its own, started and stopped with
the application. Storing happens in one worker thread, so that a slow disk never makes another
connection wait for its greeting. Whatever goes wrong is a 451, which makes the sender try again and
says nothing about why: a 5xx would make the gateway drop the tenant's text.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import structlog
from aiosmtpd.smtp import Envelope, Session

from service.sms.addressing import same_address
from service.sms.hardened import HardenedSMTP, Limits, OpenConnections

__all__ = ["Intake", "Limits", "Store", "Wake"]

Store = Callable[[str, tuple[str, ...], bytes], None]
Wake = Callable[[], None]

LATER = "451 4.3.0 Cannot store the message now, try again later"
STORED = "250 2.0.0 Stored"
_log = structlog.get_logger(__name__)


class _Doorkeeper:
    """Decides about recipients and hands messages to the worker."""

    def __init__(self, address: str, store: Store, wake: Wake, limits: Limits) -> None:
        self._address = address
        self._store = store
        self._wake = wake
        self._recipients_most = limits.recipients
        self.worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="endswitch-store")

    async def handle_RCPT(  # noqa: N802 - the library finds it by this name
        self,
        server: HardenedSMTP,
        session: Session,
        envelope: Envelope,
        address: str,
        options: list[str],
    ) -> str:
        """Only the intake address, and only so often."""
        del server, session, options
        if not same_address(address, self._address):
            return "550 5.1.1 No such mailbox here"
        if len(envelope.rcpt_tos) >= self._recipients_most:
            return "452 4.5.3 Too many recipients"
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 OK"

    async def handle_DATA(  # noqa: N802 - the library finds it by this name
        self, server: HardenedSMTP, session: Session, envelope: Envelope
    ) -> str:
        """Store, then answer."""
        del server, session
        loop = asyncio.get_running_loop()
        raw = envelope.original_content or b""
        sender, recipients = str(envelope.mail_from), tuple(envelope.rcpt_tos)
        try:
            await loop.run_in_executor(self.worker, self._keep, sender, recipients, raw)
        except Exception as error:  # noqa: BLE001 - any failure must become a 451
            return await self.handle_exception(error)
        return STORED

    async def handle_exception(self, error: Exception) -> str:
        """Never a permanent failure, and never the exception's own words."""
        _log.error("smtp_message_not_stored", error=type(error).__name__)
        return LATER

    def _keep(self, sender: str, recipients: tuple[str, ...], raw: bytes) -> None:
        self._store(sender, recipients, raw)
        try:
            self._wake()
        except Exception as error:  # noqa: BLE001 - it is stored; the next tick works it off
            _log.error("inbox_not_woken", error=type(error).__name__)


class Intake:
    """The listener. ``port`` 0 takes any free port; read it from ``port`` after ``start``."""

    def __init__(
        self,
        *,
        address: str,
        store: Store,
        wake: Wake,
        host: str = "127.0.0.1",
        port: int = 2525,
        limits: Limits | None = None,
    ) -> None:
        """Prepare a listener that hands mail for ``address`` to ``store``."""
        self._limits = limits or Limits()
        self._hostname = address.rpartition("@")[2]
        self._where = (host, port)
        self._doorkeeper = _Doorkeeper(address, store, wake, self._limits)
        self._open: OpenConnections = set()
        self._port: int | None = None
        self._failed: BaseException | None = None
        self._ready = threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._stopping: asyncio.Event | None = None
        self._thread = threading.Thread(target=self._run, name="endswitch-smtp", daemon=True)
        # The library logs addresses, and an address here is somebody's phone number.
        logging.getLogger("mail.log").setLevel(logging.ERROR)

    @property
    def port(self) -> int:
        """The port it listens on."""
        if self._port is None:
            raise RuntimeError("the intake is not running")
        return self._port

    def start(self) -> None:
        """Listen; returns when connections are taken, raises when the port cannot be had."""
        self._thread.start()
        self._ready.wait()
        if self._failed is not None:
            self._thread.join()
            self._doorkeeper.worker.shutdown()
            raise self._failed

    def stop(self) -> None:
        """Take no more, finish the messages in hand, close. Safe to call twice."""
        if self._loop is not None and self._stopping is not None and self._thread.is_alive():
            with contextlib.suppress(RuntimeError):  # the loop ended by itself
                self._loop.call_soon_threadsafe(self._stopping.set)
            self._thread.join()
        self._doorkeeper.worker.shutdown()
        self._port = None

    def _run(self) -> None:
        try:
            asyncio.run(self._serve())
        except BaseException as error:  # noqa: BLE001 - handed to whoever called start
            self._failed = error
        finally:
            self._ready.set()

    async def _serve(self) -> None:
        loop = asyncio.get_running_loop()
        self._loop, self._stopping = loop, asyncio.Event()
        server = await loop.create_server(self._connection, *self._where)
        self._port = server.sockets[0].getsockname()[1]
        self._ready.set()
        await self._stopping.wait()
        server.close()
        await self._finish()
        await server.wait_closed()

    def _connection(self) -> HardenedSMTP:
        return HardenedSMTP(
            self._doorkeeper,
            open_connections=self._open,
            limits=self._limits,
            hostname=self._hostname,
            loop=asyncio.get_running_loop(),
        )

    async def _finish(self) -> None:
        """Every connection ends; those that are owed an answer get it first."""
        work = [connection.work for connection in self._open if connection.work is not None]
        for connection in tuple(self._open):
            connection.end()
        if work:
            await asyncio.wait(work, timeout=self._limits.stopping_seconds)
        for connection in tuple(self._open):
            connection.abort()
