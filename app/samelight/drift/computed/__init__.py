"""Rows that are computed: what a mark receives, what rays see, sun against sky, and how each figure came about."""
