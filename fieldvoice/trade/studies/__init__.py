"""How good the arithmetic is, measured on simulated systems; nothing here runs for a user."""
