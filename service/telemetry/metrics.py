"""All metrics, declared in one place; every application has its own registry."""

from __future__ import annotations

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_LATEST

__all__ = ["CONTENT_TYPE", "Metrics"]

CONTENT_TYPE = CONTENT_TYPE_LATEST
# Seconds; a tenant who smells gas should read the answer within the first few.
_ANSWER_SECONDS = (0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30, 60, 300)


class Metrics:
    """What can be counted; labels have few values and never name a person or a home."""

    def __init__(self) -> None:
        """A fresh registry."""
        self.registry = CollectorRegistry()
        self.inbound_total = Counter(
            "inbound",
            "Texts received, by way in and what became of them",
            ["via", "result"],
            registry=self.registry,
        )
        self.inbound_to_answer_seconds = Histogram(
            "inbound_to_answer_seconds",
            "From a text's arrival to its answer being ready",
            buckets=_ANSWER_SECONDS,
            registry=self.registry,
        )
        self.outbox_pending = Gauge(
            "outbox_pending", "Texts not yet handed to the gateway", registry=self.registry
        )
        self.timers_late_seconds = Gauge(
            "timers_late_seconds",
            "How long the oldest due timer has been waiting",
            registry=self.registry,
        )
        self.tickets_open = Gauge("tickets_open", "Open tickets", registry=self.registry)
        self.http_requests_total = Counter(
            "http_requests",
            "Requests answered, by route template, method and status",
            ["route", "method", "status"],
            registry=self.registry,
        )

    def exposition(self) -> bytes:
        """Everything in the text form Prometheus reads; its media type is ``CONTENT_TYPE``."""
        return generate_latest(self.registry)
