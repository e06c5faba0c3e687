"""The render plan as bars."""
