"""Sheets: one shot's lighting as data. Reading, units, canonical form, errors with line numbers, writing."""
