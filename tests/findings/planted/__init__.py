"""Messy sequences with known causes, written from what leads say goes wrong and not from how the program looks for it."""
