"""The clock that wakes plain functions: inbox, timers, outbox."""
