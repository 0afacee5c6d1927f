"""Quantities, units, amounts and readings: one table for each fact; imports no other room."""
