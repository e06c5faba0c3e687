"""Where the frames of a sequence stand, and how their files end."""

from __future__ import annotations

FOLDER = "frames"
ENDINGS = (".exr", ".png", ".jpg", ".jpeg")
"""The pictures that are read. Of several for one shot the first of these is shown."""
MEASURED = ".exr"
"""The frames in which marks are measured: they alone keep the light as it was rendered."""
