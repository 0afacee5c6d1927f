"""Vacuum: standing test, pull-down, water, leak rate, flow of thin gas."""
