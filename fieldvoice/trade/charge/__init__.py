"""The charge: trim for the line set, tube sizes, target superheat."""
