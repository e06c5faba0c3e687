"""Where the frames of a sequence stand, and those that were grabbed, and how their files end."""

from __future__ import annotations

FOLDER = "frames"
GRABBED = "grabs"
"""The folder of pictures of frames as they were seen in a review."""
ENDINGS = (".exr", ".png", ".jpg", ".jpeg")
"""The pictures that are read. Of several for one shot the first of these is shown."""
MEASURED = ".exr"
"""The frames in which marks are measured: they alone keep the light as it was rendered."""
