"""The physics and colour of light: plain numbers in, plain numbers out, no files and no sheets."""
