"""Recorded jobs that `fieldvoice demo` plays."""
