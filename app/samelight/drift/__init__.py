"""Drift: master against shot, in structure, then measured by kind and graded by tolerance."""
