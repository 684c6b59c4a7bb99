"""A run, or several beside each other, as one HTML file that opens without a network. README.md."""
