"""Parts a plant is built from; each adds itself to a network."""
