"""Training text, the voices that speak it, and the noise laid over it."""
