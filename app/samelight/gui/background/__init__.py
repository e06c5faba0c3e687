"""Work beside the window: reading, watching a folder, drawing findings."""
