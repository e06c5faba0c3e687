"""The colours of marks in all shots as one cloud, beside the grid."""
