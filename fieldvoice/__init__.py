"""Fieldvoice: a hands-free, offline field assistant for technicians who install split air-conditioning."""

__version__ = "0.1.0"
