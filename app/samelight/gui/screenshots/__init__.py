"""Pictures of the program's screens, made without anyone looking."""
