"""Small widgets that know nothing of a sequence's window."""
