"""What Endswitch does: receives, stores, sends and shows; every decision comes from ``rules``."""
