"""A plant's parameters from the log of a real rig."""
