"""Pictures of shots: frames read, and as a screen shows them."""
