"""Photometric profiles of lights into what a sheet holds of them."""
