"""The technician's work: readings from a truck, turns, closing, photos, labels."""
