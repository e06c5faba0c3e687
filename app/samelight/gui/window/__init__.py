"""The lead lighter's window: its rooms put together and kept in step."""
