"""From a record of heat and temperature to gain, dead time and time constant: one method a file."""
