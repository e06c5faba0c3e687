"""One cell from every side."""
