"""Saturation of refrigerants, superheat and subcooling."""
