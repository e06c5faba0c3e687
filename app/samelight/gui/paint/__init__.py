"""Colours, glyphs and lines that everything is drawn with."""
