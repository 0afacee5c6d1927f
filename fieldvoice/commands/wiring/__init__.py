"""Joining code that several commands share."""
