"""What pages and the API are shown."""
