"""Time passing: what runs out, what is called out, and what a clock that was set means."""
