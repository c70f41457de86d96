"""Who may do what: tokens, entry links, sessions, roles and the check against forged requests."""
