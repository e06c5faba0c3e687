"""The window for dailies."""
