"""Fitting the speech model to one speaker, on the machine, by numpy alone."""
