"""Properties of what flows through a plant: water and fuel gas."""
