"""Plots under the grid that share its columns."""
