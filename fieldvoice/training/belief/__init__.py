"""Fitting how sure a heard line is: once for every speech model and grammar."""
