"""A real intake on a free port, and sockets to talk to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from smtp_wire import ADDRESS, StartIntake, Wire

from service.sms.intake import Intake, Limits, Store


@pytest.fixture
def start_intake() -> Iterator[StartIntake]:
    """Start listeners on free ports."""
    with ExitStack() as stack:

        def start(
            store: Store,
            *,
            wake: Callable[[], None] = lambda: None,
            limits: Limits | None = None,
        ) -> Intake:
            intake = Intake(address=ADDRESS, store=store, wake=wake, port=0, limits=limits)
            intake.start()
            stack.callback(intake.stop)
            return intake

        yield start


@pytest.fixture
def wire() -> Iterator[Callable[[int], Wire]]:
    """Open sockets that are closed when the test ends."""
    with ExitStack() as stack:

        def connect(port: int) -> Wire:
            opened = Wire(port)
            stack.callback(opened.close)
            return opened

        yield connect
