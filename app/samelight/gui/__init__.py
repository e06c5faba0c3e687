"""The window. Models are plain objects or thin Qt models; widgets only draw them."""
