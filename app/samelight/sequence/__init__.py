"""One opened folder: what is in it, what was read of it, what its shots are compared with, and the session that holds it together."""
