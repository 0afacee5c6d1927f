"""The job: its events, and the state that is folded from them."""
