"""The truck: a technician's queue and tickets, readings and closing."""
