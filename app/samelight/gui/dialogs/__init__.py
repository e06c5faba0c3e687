"""Boxes that ask."""
