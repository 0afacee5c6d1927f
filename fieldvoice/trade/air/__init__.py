"""Moist air across the coil, and the standard atmosphere."""
