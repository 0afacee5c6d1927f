"""The grammar and the procedures, as data."""
