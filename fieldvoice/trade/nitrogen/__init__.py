"""The nitrogen tightness test."""
