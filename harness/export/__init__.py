"""A run's signals in files that other programs read. README.md says what is in them."""
