"""What a temperature does to a sensor and its circuit, and back: pure functions and small frozen records.

Nothing here knows a plant. Temperatures in degC, resistances in ohm, thermoelectric voltages in uV.
"""
