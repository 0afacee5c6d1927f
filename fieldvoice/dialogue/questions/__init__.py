"""Questions about the whole of a job: totals, what is left, saturation, the split."""
