"""USD scenes: what their lights, environments, cameras and render settings are in a sheet, and a layer of overs back."""
