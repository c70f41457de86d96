"""How heat is asked for, delivered and lost: the control chain and the temperature of rooms."""
