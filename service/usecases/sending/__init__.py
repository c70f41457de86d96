"""What goes out to tenants, when, and how many at once."""
