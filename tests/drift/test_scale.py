"""The colours of drift, without a window."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pyqtgraph as pg

from samelight.drift import scale
from samelight.gui import drift_scale


def test_the_file_holds_the_map_it_names() -> None:
    theirs = pg.colormap.get("inferno").getLookupTable(nPts=256, alpha=False)
    assert np.array_equal(scale.lookup(), theirs)


def test_the_window_has_the_same_colours() -> None:
    for severity in (0.0, 0.5, 1.0, 1.1, 4.0, 100.0, math.inf):
        assert drift_scale.rgb(severity) == scale.rgb(severity)
        red, green, blue = scale.rgb(severity)
        assert drift_scale.ink(red, green, blue).name() == (
            "#000000" if scale.ink_is_black(red, green, blue) else "#ffffff"
        )


def test_no_window_library_is_needed_for_it() -> None:
    program = (
        "import sys; from samelight.drift import scale; from samelight.reports import as_html; scale.rgb(3.0); "
        "sys.exit(any(name.startswith(('PySide6', 'pyqtgraph')) for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
