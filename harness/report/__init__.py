"""What a person reads in the terminal."""
