"""Canonical values back into a sheet, in the words that the sheet itself uses."""
