"""The contact sheet: the cut as frames, for those who judge light by eye."""
