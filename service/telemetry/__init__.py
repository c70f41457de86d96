"""What the service says about itself: log lines without personal data, and metrics."""
