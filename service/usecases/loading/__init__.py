"""Buildings, people and weather as they are given to us, and whose phone is whose."""
