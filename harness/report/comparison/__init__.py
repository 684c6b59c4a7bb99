"""Runs beside earlier runs, or beside a stored baseline. README.md says what counts as worse."""
