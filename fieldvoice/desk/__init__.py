"""The review of jobs in a browser: pages served on this computer alone."""
