"""The owner's plain list of buildings."""
