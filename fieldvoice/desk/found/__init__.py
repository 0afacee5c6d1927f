"""What the pages show of a job, worked out as plain values."""
