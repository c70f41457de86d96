"""What Endswitch decides: pure functions from plant, weather, evidence and time to decisions.

Nothing here reads a clock, a file (but for ``rules.data``), a socket or a random number.
"""
