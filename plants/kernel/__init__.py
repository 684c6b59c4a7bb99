"""Thermal network, exact stepping, event queue, and what every plant offers."""
