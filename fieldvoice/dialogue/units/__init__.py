"""Several units in one job: which one a line is for, and what those that are not open say."""
