"""Runs first in a packaged program: USD finds its plugins beside its library, and a package moves that library."""

import os
import sys

os.environ.setdefault("PXR_PLUGINPATH_NAME", os.path.join(sys._MEIPASS, "pxr", "pluginfo"))  # type: ignore[attr-defined]  # noqa: PTH118 - before anything else is loaded
