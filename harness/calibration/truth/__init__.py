"""What a plant really is: linearised where it stands, and reduced to first order with dead time."""
