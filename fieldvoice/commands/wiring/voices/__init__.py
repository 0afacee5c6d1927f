"""Voices of technicians: learned, kept, and used to hear with."""
