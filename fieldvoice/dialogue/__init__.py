"""What came in, answered: (job state, line or tick, now) to events and replies."""
