"""What tenants say and what time brings: inbox, conversations, timers, the clock."""
