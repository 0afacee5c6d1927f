"""The listening side of a job at work: watched threads, the gate, and what was said."""
