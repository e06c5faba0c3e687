"""Other people's files into sheets. What reads a format is imported only when such a file is read."""
