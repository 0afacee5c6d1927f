"""Fieldvoice: a hands-free, offline field assistant for installing split air-conditioning."""

__version__ = "0.1.0"
