"""Repairs: turns of a thermostat asked for, closing a ticket, the page and the label of a component."""
