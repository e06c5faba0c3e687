"""One opened folder: what is in it, what was read of it, what its shots are held against, and the session that holds it together."""
