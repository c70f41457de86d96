"""An evaluation of the diagnosis against a simulated world that shares no physics or rates with it."""
