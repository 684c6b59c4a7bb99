"""A run while it goes on: what is known of it, and how that fits a terminal."""
