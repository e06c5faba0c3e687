"""The grid of shots by lights and parameters, and the overview over it."""
