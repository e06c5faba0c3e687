"""glTF scenes into sheets."""
