"""The tenant's page."""
