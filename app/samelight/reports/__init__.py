"""What a session holds, as text and as JSON."""
