"""The relay feedback test: on/off heat around a set point, and what its limit cycle tells."""
