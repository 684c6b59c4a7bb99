"""Is the rig of the right size? Heat, orifice, coil, cycle, delay: one file a question, plain formulas."""
