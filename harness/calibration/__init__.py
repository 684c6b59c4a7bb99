"""Calibration: what a process is, found by a test or computed from the plant, and what follows from it."""
