"""The open-loop test: its phases, played on a plant or through a device, and what it leaves behind."""
