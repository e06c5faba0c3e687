"""What the window shows, as plain objects. No Qt."""
