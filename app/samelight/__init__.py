"""Samelight keeps every shot of a sequence lit by one sun in one room."""

__version__ = "0.1.0"
